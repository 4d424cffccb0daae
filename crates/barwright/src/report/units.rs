//! Numbers as a maker reads them: signs, units, sensible rounding; inches only here.

/// Units of length in text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, clap::ValueEnum)]
pub enum Units {
    /// Millimetres.
    Mm,
    /// Inches, to the nearest 1/32.
    Inch,
    /// Millimetres with inches after them.
    #[default]
    Both,
}

const MM_PER_INCH: f64 = 25.4;

impl Units {
    /// A place or width: half a millimetre, 1/32 inch.
    pub fn place(self, length_mm: f64) -> String {
        self.said(&plain(length_mm, 1), &fraction_of_inch(length_mm))
    }

    /// A depth or thickness: a tenth of a millimetre or finer, thousandths of an inch.
    pub fn depth(self, length_mm: f64) -> String {
        let decimals = if length_mm.abs() < 5.0 { 2 } else { 1 };
        self.said(&plain(length_mm, decimals), &words::number(format!("{:.3}", length_mm / MM_PER_INCH)))
    }

    /// A place or width as a figure of a table that names its unit: of two figures in a cell one is set wrong.
    pub fn place_figure(self, length_mm: f64) -> String {
        if self == Self::Inch { fraction_of_inch(length_mm) } else { plain(length_mm, 1) }
    }

    /// A thickness, depth or small step as such a figure.
    pub fn depth_figure(self, length_mm: f64) -> String {
        if self == Self::Inch { plain(length_mm / MM_PER_INCH, 3) } else { plain(length_mm, 1) }
    }

    /// The unit of those figures, as a sentence begins.
    pub fn figures_are(self) -> String {
        if self == Self::Inch { words::tell!("inches") } else { words::tell!("millimetres") }
    }

    /// "thinnest 8 mm at 235 mm from the left end", or "23 mm thick throughout".
    pub fn thinnest(self, x_mm: f64, thinnest_mm: f64, all_mm: impl Iterator<Item = f64>) -> String {
        // A tenth of a millimetre is what a caliper tells apart on wood.
        let thickest_mm = all_mm.fold(thinnest_mm, f64::max);
        if thickest_mm - thinnest_mm < 0.1 {
            return format!("{} thick throughout", self.depth(thickest_mm));
        }
        format!("thinnest {} at {} from the left end", self.depth(thinnest_mm), self.place(x_mm))
    }

    fn said(self, mm: &str, inch: &str) -> String {
        match self {
            Self::Mm => format!("{mm} mm"),
            Self::Inch => format!("{inch} in"),
            Self::Both => format!("{mm} mm ({inch} in)"),
        }
    }
}

/// Rounded, without trailing zeros, with a true minus sign.
pub fn plain(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    words::number(match text.strip_prefix('-') {
        Some("0") => "0".to_owned(),
        Some(digits) => format!("−{digits}"),
        None => text.to_owned(),
    })
}

/// Whole inches and 32nds, reduced: "2 3/8".
pub fn fraction_of_inch(length_mm: f64) -> String {
    let parts = (length_mm.abs() / MM_PER_INCH * 32.0).round() as u64;
    let (whole, mut top, mut bottom) = (parts / 32, parts % 32, 32);
    while top > 0 && top % 2 == 0 {
        (top, bottom) = (top / 2, bottom / 2);
    }
    let sign = if length_mm < 0.0 && parts > 0 { "−" } else { "" };
    match (whole, top) {
        (_, 0) => format!("{sign}{whole}"),
        (0, _) => format!("{sign}{top}/{bottom}"),
        _ => format!("{sign}{whole} {top}/{bottom}"),
    }
}

/// Cents with their sign: "+12", "−4", "0"; a decimal below ten.
pub fn cents(value: f64) -> String {
    signed(value, usize::from(value.abs() < 9.95))
}

/// As [`plain`], with its sign; nothing has none.
pub fn signed(value: f64, decimals: usize) -> String {
    let text = plain(value, decimals);
    if text == "0" || text.starts_with('−') { text } else { format!("+{text}") }
}

/// Cents with uncertainty: "+12 ± 2".
pub fn cents_with_sigma(value: f64, sigma: f64) -> String {
    let decimals = usize::from(sigma < 9.95);
    format!("{} ± {}", cents(value), words::number(format!("{sigma:.decimals$}")))
}

/// A frequency with five figures or so.
pub fn hz(value: f64) -> String {
    let decimals = match value {
        v if v < 1000.0 => 2,
        v if v < 10_000.0 => 1,
        _ => 0,
    };
    format!("{value:.decimals$}")
}

/// A ratio to the note: "×4", "×10.08".
pub fn ratio(value: f64) -> String {
    format!("×{}", plain(value, 2))
}

/// A chance in per cent: "2 %", "less than 0.1 %", "over 99 %"; nothing is told as certain.
pub fn percent(share: f64) -> String {
    match share {
        s if s < 0.001 => "less than 0.1 %".to_owned(),
        s if s < 0.0995 => format!("{:.1} %", 100.0 * s),
        s if s > 0.995 => "over 99 %".to_owned(),
        s => format!("{:.0} %", 100.0 * s),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_as_in_the_workshop() {
        assert_eq!(Units::Both.place(62.0), "62 mm (2 7/16 in)");
        assert_eq!(Units::Inch.place(60.325), "2 3/8 in");
        assert_eq!(Units::Mm.place(0.04), "0 mm");
        assert_eq!(Units::Both.depth(0.4), "0.4 mm (0.016 in)");
        assert_eq!(
            [Units::Both.place_figure(62.04), Units::Inch.place_figure(62.0), Units::Inch.depth_figure(9.1)],
            ["62", "2 7/16", "0.358"]
        );
        assert_eq!(fraction_of_inch(25.4), "1");
        assert_eq!(fraction_of_inch(-12.7), "−1/2");
        assert_eq!((cents(-4.04), cents(212.3), cents(-0.02)), ("−4".to_owned(), "+212".to_owned(), "0".to_owned()));
        assert_eq!(cents_with_sigma(-4.04, 0.52), "−4 ± 0.5");
        assert_eq!((percent(0.0), percent(1.0)), ("less than 0.1 %".to_owned(), "over 99 %".to_owned()));
    }
}
