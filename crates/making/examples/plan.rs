//! Prints how long the plan of a 61-bar marimba takes on one core, and what it says. The wood is invented.
use bar_physics::Wood;
use making::schedule::{Hands, Kind, Specification, assemble, better, plan_bar};
use std::time::Instant;

fn main() -> Result<(), making::MakingError> {
    let wood = Wood::generic_hardwood(950.0, 19.5e6 * 950.0);
    let specification = Specification::proposal(Kind::Marimba, 36, 96, 440.0, wood);
    let start = Instant::now();
    let wanted = specification.bars()?;
    let bars: Vec<_> = wanted.iter().map(|bar| plan_bar(&specification, bar)).collect();
    let bars_s = start.elapsed().as_secs_f64();
    let start = Instant::now();
    let plan = assemble(&specification, bars)?;
    println!("61 bars {bars_s:.2} s on one core, put together {:.3} s", start.elapsed().as_secs_f64());
    println!("{:.1} kg, {:.4} m³; {} warnings", plan.mass_kg, plan.wood_net_m3, plan.warnings.len());
    for row in &plan.rows {
        let (name, beyond) = (row.row.name(), row.beyond_tolerance(&plan));
        println!(
            "{name}: {:.0} mm, {} beyond tolerance, worst {:?}",
            row.overall_m * 1e3,
            beyond.len(),
            beyond.first()
        );
    }
    plan.impossible.iter().for_each(|words| println!("{words}"));
    let start = Instant::now();
    let hands = Hands { plan: &|bars, job| bars.iter().map(job).collect(), told: &|what| println!("  {what}") };
    let bettered = better(&specification, hands)?;
    println!("bettered in {:.1} s on one core", start.elapsed().as_secs_f64());
    bettered.traded.iter().for_each(|words| println!("{words}"));
    for row in &bettered.after.rows {
        println!("{}: beyond {:?}", row.row.name(), row.beyond_tolerance(&bettered.after));
    }
    Ok(())
}
