//! Stiffness and mass of the mapped solid, integrated element by element.
use super::envelope::Envelope;
use super::mass::Mass;
use super::mesh::{Mesh, Station};
use super::section::{Section, Sheet, TERMS};
use crate::Bar;
use crate::polynomial::{gauss, lagrange};

/// The discrete bar: stiffness, mass, and the sizes needed to read a vector.
#[derive(Debug, Clone)]
pub(super) struct Assembled {
    pub stiffness: Envelope,
    pub mass: Mass,
}

/// Assembles K and M over the mesh; unknown = node · patterns + pattern.
pub(super) fn assemble(bar: &Bar, mesh: &Mesh, section: &Section) -> Assembled {
    let m = section.patterns.len();
    let nodes = mesh.order + 1;
    let first: Vec<usize> = (0..mesh.node_count())
        .flat_map(|node| {
            // The last element that holds this node as other than its first node starts its row.
            let begin = if node == 0 { 0 } else { (node - 1) / mesh.order * mesh.order };
            std::iter::repeat_n(begin * m, m)
        })
        .collect();
    let mut out = Assembled {
        stiffness: Envelope::zero(first),
        mass: Mass::zero(mesh.node_count(), section, nodes, bar.crook.is_level()),
    };
    // t·(1/t)·(1/t) is rational: two points more than the polynomial degree needs.
    let (points, weights) = gauss(mesh.order + 2);
    let tables: Vec<_> = points.iter().map(|s| lagrange(&mesh.nodes, *s)).collect();
    for (index, element) in mesh.elements.iter().enumerate() {
        let stations = element.stations(bar, &points, &weights, &tables);
        let base = index * mesh.order * m;
        for sheet in &section.sheets {
            let lengthwise = lengthwise_integrals(&stations, &tables, element.length_m, mesh.width_m, sheet.eta);
            add_stiffness(&mut out.stiffness, sheet, &lengthwise, nodes, (base, m));
        }
        let mass = mass_integrals(&stations, &tables, mesh.width_m);
        for i in 0..nodes {
            for j in 0..=i {
                let [even, lean] = mass[i * nodes + j];
                out.mass.add(index * mesh.order + i, index * mesh.order + j, even, lean);
            }
        }
    }
    out
}

/// Adds one element's couplings; its unknowns begin at `place.0`, `place.1` of them per node.
fn add_stiffness(
    stiffness: &mut Envelope,
    sheet: &Sheet,
    lengthwise: &[[f64; TERMS * TERMS]],
    nodes: usize,
    (base, m): (usize, usize),
) {
    for i in 0..nodes {
        for j in 0..=i {
            let block = &lengthwise[i * nodes + j];
            let mut part = stiffness.part((base + i * m, m), base + j * m);
            for coupling in sheet.couplings.iter().filter(|c| j < i || c.column <= c.row) {
                let value = sheet.terms[coupling.terms.clone()].iter().map(|(pair, w)| w * block[*pair]).sum();
                part.add(coupling.row, coupling.column, value);
            }
        }
    }
}

/// ∫ of each pair of gradient terms along the element at one place across, per pair of nodes (i, j ≤ i).
fn lengthwise_integrals(
    stations: &[Station],
    tables: &[(Vec<f64>, Vec<f64>)],
    length_m: f64,
    width_m: f64,
    eta: f64,
) -> Vec<[f64; TERMS * TERMS]> {
    let nodes = tables[0].0.len();
    let mut out = vec![[0.0; TERMS * TERMS]; nodes * nodes];
    for (station, (values, slopes)) in stations.iter().zip(tables) {
        let t = station.thickness_m + eta * station.lean_m;
        let slope = station.slope + eta * station.lean_slope;
        let volume = station.weight_m * station.stiffness_factor * 0.25 * width_m * t;
        let across = 2.0 / width_m;
        let terms: Vec<[f64; TERMS]> = values
            .iter()
            .zip(slopes)
            .map(|(v, d)| {
                [d * 2.0 / length_m, -slope / t * v, across * v, 2.0 / t * v, -across * station.lean_m / t * v]
            })
            .collect();
        for i in 0..nodes {
            for j in 0..=i {
                let block = &mut out[i * nodes + j];
                for (a, left) in terms[i].iter().enumerate() {
                    for (b, right) in terms[j].iter().enumerate() {
                        block[TERMS * a + b] += volume * left * right;
                    }
                }
            }
        }
    }
    out
}

/// ∫ ρ·(even thickness, lean)·φᵢφⱼ along the element.
fn mass_integrals(stations: &[Station], tables: &[(Vec<f64>, Vec<f64>)], width_m: f64) -> Vec<[f64; 2]> {
    let nodes = tables[0].0.len();
    let mut out = vec![[0.0; 2]; nodes * nodes];
    for (station, (values, _)) in stations.iter().zip(tables) {
        let line = station.weight_m * station.density_kg_m3 * 0.25 * width_m;
        for i in 0..nodes {
            for j in 0..=i {
                let product = line * values[i] * values[j];
                out[i * nodes + j][0] += product * station.thickness_m;
                out[i * nodes + j][1] += product * station.lean_m;
            }
        }
    }
    out
}
