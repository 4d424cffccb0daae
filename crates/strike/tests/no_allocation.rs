//! Between blows the stream allocates nothing: it may run for days.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

use stats_alloc::{INSTRUMENTED_SYSTEM, Region, StatsAlloc};
use std::alloc::System;
use strike::Context;
use strike::live::Live;
use strike::synth::blow;

#[global_allocator]
static COUNTED: &StatsAlloc<System> = &INSTRUMENTED_SYSTEM;

#[test]
fn an_armed_listener_allocates_nothing() {
    let noise = blow(&[], 48_000.0, 0.0, 12.0, 1e-3, 1);
    let mut live = Live::new(48_000.0, Context::default()).unwrap();
    live.push(&noise[..48_000]);
    let region = Region::new(COUNTED);
    let mut events = 0;
    for frame in noise[48_000..].chunks(441) {
        events += live.push(frame).len();
    }
    let change = region.change();
    assert_eq!(events, 0, "steady noise is no event");
    assert_eq!((change.allocations, change.reallocations), (0, 0));
}
