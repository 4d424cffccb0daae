//! Node lines of mode 1 from the record's salt tests.
use making::frame::BenchNodes;
use records::workshop::{BarState, Body, History, NodeLine, SaltRecord};

/// The last salt test that still tells where the nodes are, as it would look with the top face up; `None` without one
/// since the bar was arched, or since an end was sawn off.
pub fn salted_nodes(state: &BarState, history: &History) -> Option<BenchNodes> {
    let salted = salted_since_trim(history);
    // Nodes move outwards as the arch deepens: a salt test of the blank says nothing about the rails.
    let salt = state.salt.iter().rev().take(salted).find(|(_, arched)| *arched).map(|(salt, _)| salt);
    salt.map(|salt| on_top(salt, state))
}

/// How many of the last salt tests still count from today's ends: sawing an end off moves the nodes and the numbers.
fn salted_since_trim(history: &History) -> usize {
    let standing = history.standing();
    let since = standing.iter().rev().take_while(|standing| !matches!(standing.body, Body::Trim(_)));
    since.filter(|standing| matches!(standing.body, Body::Salt(_))).count()
}

fn on_top(salt: &SaltRecord, state: &BarState) -> BenchNodes {
    let line = |line: &NodeLine| [line.near_mm * 1e-3, line.far_mm * 1e-3];
    let read = BenchNodes { left_m: line(&salt.left), right_m: line(&salt.right) };
    if state.top.is_some_and(|top| top != salt.face_up) { read.rolled() } else { read }
}
