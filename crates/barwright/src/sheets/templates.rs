//! Arches in their true size: for paper, and for machines.
use super::not_drawable;
use crate::convert;
use crate::error::Refused;
use bar_physics::Underside;
use making::arch::layout::{self, ArchWishes};
use making::schedule::{InstrumentPlan, PlannedBar};
use paper::document::Document;
use paper::sheets::{BarShape, TemplateView, contour_view, template_view};
use paper::tile::{Tiling, tile};
use paper::{Drawing, dxf, svg};
use records::BarFile;
use words::tell;

/// One arch.
#[derive(Debug, Clone)]
pub struct Template {
    /// The note, or what the bar is called.
    pub name: String,
    /// What is drawn.
    pub view: TemplateView,
}

fn shape(name: &str, underside: &Underside, width_m: f64) -> BarShape {
    let mm = |m: f64| m * 1e3;
    BarShape {
        name: name.to_owned(),
        length_mm: mm(underside.length_m()),
        width_mm: mm(width_m),
        underside_mm: underside.x_m().iter().zip(underside.thickness_m()).map(|(x, t)| (mm(*x), mm(*t))).collect(),
    }
}

/// The arches of a plan; bars that cannot be made are left out and named.
pub fn of_plan(plan: &InstrumentPlan, words: &str, station_mm: f64) -> (Vec<Template>, Vec<String>) {
    let (mut made, mut unmade) = (Vec::new(), Vec::new());
    for bar in &plan.bars {
        match template(bar, words, station_mm) {
            Some(template) => made.push(template),
            None => unmade.push(bar.wanted.name.clone()),
        }
    }
    (made, unmade)
}

fn template(bar: &PlannedBar, words: &str, station_mm: f64) -> Option<Template> {
    let made = bar.made.as_ref().ok()?;
    let middle = |[a, b]: [f64; 2]| 1e3 * f64::midpoint(a, b);
    Some(Template {
        name: bar.wanted.name.clone(),
        view: TemplateView {
            shape: shape(&words::note(&bar.wanted.name), &made.arch.underside, bar.wanted.width_m),
            nodes_mm: vec![middle(made.nodes.player_m), middle(made.nodes.away_m)],
            station_mm,
            words: words.to_owned(),
        },
    })
}

/// A bar file's: the arch it has, or the one designed for its blank.
///
/// # Errors
/// [`Refused`] as the arch's design, where it has none.
pub fn of_bar(file: &BarFile, name: &str, station_mm: f64) -> Result<Template, Refused> {
    let given = convert::bar(file)?;
    let arched = file.outline().thickness_mm.iter().any(|t| (t - file.record().thickness_mm).abs() > 1.0);
    let (bar, words) = if arched {
        (given.bar, tell!("template-as-believed"))
    } else {
        let advice = layout::arch(&convert::job(file)?, &ArchWishes::default())?;
        if !advice.feasible {
            let why = advice.reasons.first().map_or("no arch reaches the targets", String::as_str);
            return Err(Refused::new("arch_out_of_reach", why, "ask barwright arch what would make it possible"));
        }
        (bar_physics::Bar { underside: advice.arch.underside.clone(), ..given.bar }, tell!("template-to-be-sawn"))
    };
    let modes = bar_physics::solid::modes(&bar, bar_physics::Wanted { bending: 1, torsion: 0, sideways: 0 })?;
    let nodes_mm = modes.bending[0].node_lines.iter().map(|line| line.centre_m * 1e3).collect();
    let view = TemplateView { shape: shape(name, &bar.underside, bar.width_m), nodes_mm, station_mm, words };
    Ok(Template { name: name.to_owned(), view })
}

/// All templates on paper, each under its bookmark.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn on_paper(templates: &[Template], tiling: &Tiling) -> Result<Document, Refused> {
    let mut document = Document { title: tell!("title-templates"), ..Document::default() };
    for template in templates {
        let drawing = template_view(&template.view).map_err(|error| not_drawable(&error))?;
        document.append(&template.name, tile(&drawing, tiling).map_err(|error| not_drawable(&error))?);
    }
    Ok(document)
}

/// For a laser or a router: (file name, contents), DXF and SVG of each.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn for_machines(templates: &[Template]) -> Result<Vec<(String, String)>, Refused> {
    let contours = templates
        .iter()
        .map(|template| {
            Ok((template.name.clone(), contour_view(&template.view).map_err(|error| not_drawable(&error))?))
        })
        .collect::<Result<Vec<_>, Refused>>()?;
    Ok(machine_files(contours.iter().map(|(name, drawing)| (name.clone(), drawing))))
}

/// Each drawing as DXF and SVG, under names that every system takes.
pub fn machine_files<'d>(drawings: impl Iterator<Item = (String, &'d Drawing)>) -> Vec<(String, String)> {
    let plain = |name: &str| -> String {
        let letter = |c: char| match c {
            '♯' => 's',
            '♭' => 'b',
            c if c.is_ascii_alphanumeric() || c == '-' => c,
            _ => '_',
        };
        name.chars().map(letter).collect()
    };
    drawings
        .flat_map(|(name, drawing)| {
            let name = plain(&name);
            [
                (format!("{name}.dxf"), dxf::render(drawing)),
                (format!("{name}.svg"), svg::render(drawing, &svg::Options::picture())),
            ]
        })
        .collect()
}

/// Stations of all arches as lines of a table, the head first.
pub fn stations(templates: &[Template]) -> Vec<Vec<String>> {
    let mut lines = vec![["note", "from_centre_mm", "thickness_mm"].map(str::to_owned).to_vec()];
    for template in templates {
        let shape = &template.view.shape;
        let half = 0.5 * shape.length_mm;
        let count = (half / template.view.station_mm).floor() as i32;
        for number in 0..=count {
            let from = f64::from(number) * template.view.station_mm;
            let at = |x: f64| paper::sheets::BarShape::thickness_at(shape, x);
            let thickness = 0.5 * (at(half - from) + at(half + from));
            lines.push(vec![
                template.name.clone(),
                convert::rounded(from, 2).to_string(),
                convert::rounded(thickness, 2).to_string(),
            ]);
        }
    }
    lines
}
