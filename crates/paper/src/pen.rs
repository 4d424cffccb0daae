//! The pens: what a line means, how heavy it is, and how it is broken.

/// What a mark means; colour, weight and dash follow from it, so that meaning is never colour alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Pen {
    /// Edges of what is there.
    Outline,
    /// Dimension lines, ticks, secondary lettering.
    Faint,
    /// Centre lines: thin, dash-dot.
    Centre,
    /// Edges that lie underneath: dashed.
    Hidden,
    /// Red pencil: wood to remove, and its hatch.
    Cut,
    /// Blue pencil: node lines and datum lines, dash-dot.
    Node,
    /// In tolerance.
    Done,
    /// Cautions and limits: dashed.
    Caution,
    /// Lettering in ink.
    Text,
}

/// Weight of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// Outlines.
    Heavy,
    /// Everything that carries meaning.
    Medium,
    /// Dimension lines and hatching.
    Fine,
}

impl Weight {
    /// Width of the line on the sheet, in millimetres (steps of about √2, as technical pens have: 0.5, 0.35, 0.18).
    pub fn width_mm(self) -> f64 {
        match self {
            Self::Heavy => 0.5,
            Self::Medium => 0.35,
            Self::Fine => 0.18,
        }
    }
}

impl Pen {
    /// Every pen.
    pub const ALL: [Self; 9] = [
        Self::Outline,
        Self::Faint,
        Self::Centre,
        Self::Hidden,
        Self::Cut,
        Self::Node,
        Self::Done,
        Self::Caution,
        Self::Text,
    ];

    /// Stable short name: the class in SVG, the layer elsewhere.
    pub fn name(self) -> &'static str {
        match self {
            Self::Outline => "outline",
            Self::Faint => "faint",
            Self::Centre => "centre",
            Self::Hidden => "hidden",
            Self::Cut => "cut",
            Self::Node => "node",
            Self::Done => "done",
            Self::Caution => "caution",
            Self::Text => "text",
        }
    }

    /// Weight of its lines.
    pub fn weight(self) -> Weight {
        match self {
            Self::Outline => Weight::Heavy,
            Self::Cut | Self::Node | Self::Done | Self::Caution | Self::Text => Weight::Medium,
            Self::Faint | Self::Centre | Self::Hidden => Weight::Fine,
        }
    }

    /// Lengths of strokes and gaps in turn, in millimetres; empty for an unbroken line.
    pub fn dash_mm(self) -> &'static [f64] {
        match self {
            Self::Centre | Self::Node => &[4.0, 1.0, 0.6, 1.0],
            Self::Hidden | Self::Caution => &[2.0, 1.2],
            _ => &[],
        }
    }
}
