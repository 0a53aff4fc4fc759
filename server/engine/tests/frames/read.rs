//! Running the engine and reading single figures out of its results.

use battenboard_engine::design::{Design, Frame};
use battenboard_engine::findings::{Fault, Findings, MemberResults, PlaceResults, SectionForces, StateResults};
use battenboard_engine::{Ask, check};

/// Runs a design and hands back the findings, faults or not.
pub fn run(design: &Design) -> Findings {
    let frame = Frame::new(design).unwrap_or_else(|violations| {
        let lines: Vec<String> = violations.iter().map(ToString::to_string).collect();
        panic!("{}: refused\n  {}", design.name, lines.join("\n  "))
    });
    let mut findings = check(&frame, Ask { results: true, mends: false }, &|| false)
        .unwrap_or_else(|error| panic!("{}: {error}", design.name));
    // Books and chance load frames for linear statics: that one would buckle or shake slowly is no fault here.
    findings.faults.retain(|fault| !matches!(fault, Fault::NearMechanism { .. }));
    findings
}

/// Runs a design that must have no fault.
pub fn solve(design: &Design) -> Findings {
    let findings = run(design);
    assert!(findings.faults.is_empty(), "{}: {:?}", design.name, findings.faults);
    assert!(findings.results.is_some(), "{}: asked for results, got none", design.name);
    findings
}

/// Results of one load case.
pub fn case<'a>(findings: &'a Findings, name: &str) -> &'a StateResults {
    let states = &findings.results.as_ref().expect("results were asked for").states;
    states.iter().find(|state| !state.combined && state.name == name).unwrap_or_else(|| {
        let names: Vec<&str> = states.iter().map(|state| state.name.as_str()).collect();
        panic!("no load case `{name}` among {names:?}")
    })
}

/// Results along one member.
pub fn along<'a>(state: &'a StateResults, tag: &str) -> &'a MemberResults {
    state.members.iter().find(|member| member.tag == tag).unwrap_or_else(|| panic!("no results for member {tag}"))
}

/// Results at one place of a member.
pub fn place<'a>(state: &'a StateResults, tag: &str, at: f64) -> &'a PlaceResults {
    let places = &along(state, tag).places;
    let reach = places.last().map_or(0.0, |last| last.at_mm);
    places.iter().find(|place| (place.at_mm - at).abs() <= 1e-6 * reach).unwrap_or_else(|| {
        let known: Vec<f64> = places.iter().map(|place| place.at_mm).collect();
        panic!("member {tag} has no place at {at}, only at {known:?}")
    })
}

/// Stress resultants at a place: just after it, or just before it at the member's end.
pub fn forces(state: &StateResults, tag: &str, at: f64) -> SectionForces {
    let last = along(state, tag).places.last().map_or(0.0, |last| last.at_mm);
    let found = place(state, tag, at);
    if (found.at_mm - last).abs() <= 1e-6 * last { found.forces_before } else { found.forces_after }
}

/// The six stress resultants in the order N, Vy, Vz, T, My, Mz.
pub fn six(forces: SectionForces) -> [f64; 6] {
    let SectionForces { n_n, vy_n, vz_n, t_n_mm, my_n_mm, mz_n_mm } = forces;
    [n_n, vy_n, vz_n, t_n_mm, my_n_mm, mz_n_mm]
}

/// Force and moment of the vehicle on the frame at an anchor.
pub fn reaction(state: &StateResults, tag: &str) -> [f64; 6] {
    let found = state.reactions.iter().find(|reaction| reaction.tag == tag);
    let found = found.unwrap_or_else(|| panic!("no reaction at anchor {tag}"));
    let ([x, y, z], [a, b, c]) = (found.force_n, found.moment_n_mm);
    [x, y, z, a, b, c]
}

/// Force and moment of the carrying on the carried member at a joint.
pub fn joint(state: &StateResults, tag: &str) -> [f64; 6] {
    let found = state.joints.iter().find(|joint| joint.tag == tag);
    let found = found.unwrap_or_else(|| panic!("no forces at joint {tag}"));
    let ([x, y, z], [a, b, c]) = (found.force_n, found.moment_n_mm);
    [x, y, z, a, b, c]
}

/// Least and greatest value of a stress resultant along a member, by its name in the results.
pub fn extreme(state: &StateResults, tag: &str, quantity: &str) -> (f64, f64) {
    let found = along(state, tag).extremes.iter().find(|extreme| extreme.quantity == quantity);
    let found = found.unwrap_or_else(|| panic!("no extreme {quantity} for member {tag}"));
    (found.least, found.greatest)
}

/// The load cases of a design together: own weight, settlement and all given ones. Without extremes.
pub fn total(findings: &Findings) -> StateResults {
    let states = &findings.results.as_ref().expect("results were asked for").states;
    let mut cases = states.iter().filter(|state| !state.combined);
    let mut sum = cases.next().expect("a load case").clone();
    sum.name = "all together".into();
    for state in cases {
        for (member, other) in sum.members.iter_mut().zip(&state.members) {
            member.extremes.clear();
            for (place, other) in member.places.iter_mut().zip(&other.places) {
                assert!((place.at_mm - other.at_mm).abs() < 1e-9 * (1.0 + other.at_mm), "places differ between cases");
                place.displacement = plus(place.displacement, other.displacement);
                place.forces_before = resultants(plus(six(place.forces_before), six(other.forces_before)));
                place.forces_after = resultants(plus(six(place.forces_after), six(other.forces_after)));
            }
        }
        let sets = [(&mut sum.reactions, &state.reactions), (&mut sum.joints, &state.joints)];
        for (mine, theirs) in sets {
            for (mine, theirs) in mine.iter_mut().zip(theirs) {
                assert_eq!(mine.tag, theirs.tag);
                for k in 0..3 {
                    mine.force_n[k] += theirs.force_n[k];
                    mine.moment_n_mm[k] += theirs.moment_n_mm[k];
                }
            }
        }
    }
    sum
}

fn plus(a: [f64; 6], b: [f64; 6]) -> [f64; 6] {
    std::array::from_fn(|k| a[k] + b[k])
}

/// The reverse of [`six`].
pub fn resultants([n_n, vy_n, vz_n, t_n_mm, my_n_mm, mz_n_mm]: [f64; 6]) -> SectionForces {
    SectionForces { n_n, vy_n, vz_n, t_n_mm, my_n_mm, mz_n_mm }
}
