//! Stiffness and mass of the mapped solid, integrated element by element.
use super::envelope::{Envelope, Mass};
use super::mesh::{Mesh, Station};
use super::section::Section;
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
    let mut out = Assembled { stiffness: Envelope::zero(first), mass: Mass::zero(mesh.node_count(), m, nodes) };
    // t·(1/t)·(1/t) is rational: two points more than the polynomial degree needs.
    let (points, weights) = gauss(mesh.order + 2);
    let tables: Vec<_> = points.iter().map(|s| lagrange(&mesh.nodes, *s)).collect();
    for (index, element) in mesh.elements.iter().enumerate() {
        let stations = element.stations(bar, &points, &weights, &tables);
        let base = index * mesh.order * m;
        let lengthwise = lengthwise_integrals(&stations, &tables, element.length_m, mesh.width_m);
        for coupling in &section.couplings {
            for i in 0..nodes {
                for j in 0..=i {
                    let (row, column) = (base + i * m + coupling.row, base + j * m + coupling.column);
                    if column <= row {
                        let block = &lengthwise[i * nodes + j];
                        let value: f64 = coupling.terms.iter().map(|(pair, w)| w * block[*pair]).sum();
                        out.stiffness.add(row, column, value);
                    }
                }
            }
        }
        let mass = mass_integrals(&stations, &tables, mesh.width_m);
        for i in 0..nodes {
            for j in 0..=i {
                out.mass.add(index * mesh.order + i, index * mesh.order + j, mass[i * nodes + j]);
            }
        }
    }
    out
}

/// ∫ of each pair of gradient terms along the element, per pair of nodes: index (i, j) → [4a + b].
fn lengthwise_integrals(
    stations: &[Station],
    tables: &[(Vec<f64>, Vec<f64>)],
    length_m: f64,
    width_m: f64,
) -> Vec<[f64; 16]> {
    let nodes = tables[0].0.len();
    let mut out = vec![[0.0; 16]; nodes * nodes];
    for (station, (values, slopes)) in stations.iter().zip(tables) {
        let t = station.thickness_m;
        let volume = station.weight_m * station.stiffness_factor * 0.25 * width_m * t;
        let terms: Vec<[f64; 4]> = values
            .iter()
            .zip(slopes)
            .map(|(v, d)| [d * 2.0 / length_m, -station.slope / t * v, 2.0 / width_m * v, 2.0 / t * v])
            .collect();
        for i in 0..nodes {
            for j in 0..=i {
                for a in 0..4 {
                    for b in 0..4 {
                        out[i * nodes + j][4 * a + b] += volume * terms[i][a] * terms[j][b];
                    }
                }
            }
        }
    }
    out
}

fn mass_integrals(stations: &[Station], tables: &[(Vec<f64>, Vec<f64>)], width_m: f64) -> Vec<f64> {
    let nodes = tables[0].0.len();
    let mut out = vec![0.0; nodes * nodes];
    for (station, (values, _)) in stations.iter().zip(tables) {
        let volume = station.weight_m * station.density_kg_m3 * 0.25 * width_m * station.thickness_m;
        for i in 0..nodes {
            for j in 0..=i {
                out[i * nodes + j] += volume * values[i] * values[j];
            }
        }
    }
    out
}
