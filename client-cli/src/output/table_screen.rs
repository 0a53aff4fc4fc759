//! `check --table`: every check, mass, assumption and gap of knowledge, for who asks for the figures.

use super::columns::{Side, table};
use super::sheet::Sheet;
use super::{check_screen, faults, figures, places, whole, whole_screen, words};
use battenboard_engine::design::Design;
use battenboard_engine::findings::{AxleLine, Findings, LoadState};

/// Everything in tables, worst first.
pub fn full(design: &Design, findings: &Findings, width: usize) -> Sheet {
    let mut sheet = Sheet::new(width);
    sheet.paragraph(&check_screen::verdict_sentence(design, findings));
    faults(&mut sheet, findings);
    checks(&mut sheet, design, findings);
    weight(&mut sheet, findings);
    shares(&mut sheet, findings);
    whole_frame(&mut sheet, findings);
    assumptions(&mut sheet, findings);
    not_checked(&mut sheet, findings);
    evidence(&mut sheet, findings);
    sheet.blank();
    sheet.paragraph(words::SAFETY);
    sheet
}

fn faults(sheet: &mut Sheet, findings: &Findings) {
    for fault in &findings.faults {
        let (what, mend) = faults::fault(fault);
        sheet.hanging("  *  ", &words::sentence(&what));
        sheet.hanging("     mend: ", &mend);
    }
}

fn checks(sheet: &mut Sheet, design: &Design, findings: &Findings) {
    if findings.checks.is_empty() {
        return;
    }
    let rows: Vec<Vec<String>> = findings
        .checks
        .iter()
        .map(|check| {
            vec![
                check.tag.clone(),
                words::check_name(check.kind).to_owned(),
                figures::utilisation(check.utilisation),
                words::verdict_word(check.verdict).to_owned(),
                if words::is_sag(check.kind) {
                    format!("{} of {}", figures::sag(check.demand), figures::sag(check.resistance))
                } else {
                    places::short(design, &check.tag, check.at_mm)
                },
                check.combination.clone(),
            ]
        })
        .collect();
    sheet.blank();
    let heads = [
        ("tag", Side::Left),
        ("check", Side::Left),
        ("of 1.00", Side::Right),
        ("verdict", Side::Left),
        ("where, or sag", Side::Left),
        ("under", Side::Left),
    ];
    table(sheet, &heads, &rows);
}

fn weight(sheet: &mut Sheet, findings: &Findings) {
    let weight = &findings.weight;
    let row = |name: &str, mass: f64| vec![name.to_owned(), format!("{mass:.1}")];
    let mut rows = vec![row("frame", weight.frame_kg), row("screws and finish", weight.fixings_kg)];
    rows.push(row("mattress and bedding", weight.bedding_kg));
    rows.push(row("gear", weight.stowage_kg));
    rows.push(row("all together", weight.total_kg));
    rows.extend(weight.by_kind.iter().map(|line| row(&format!("  of kind {}", line.name), line.mass_kg)));
    rows.extend(weight.by_stock.iter().map(|line| row(&format!("  of stock {}", line.name), line.mass_kg)));
    sheet.blank();
    table(sheet, &[("weight", Side::Left), ("kg", Side::Right)], &rows);
    let [x, y, z] = weight.centre_mm;
    let side = if y < 0.0 { "left" } else { "right" };
    sheet.paragraph(&format!(
        "It balances {} behind the front axle, {} to the {side}, {} above the floor.",
        figures::length(x),
        figures::length(y.abs()),
        figures::length(z)
    ));
    axles(sheet, findings);
    if let Some(least) = weight.least_payload_kg {
        sheet.paragraph(&format!(
            "Registered as a motor caravan it must have {} of payload left for luggage, beside its passengers.",
            figures::kilograms(least)
        ));
    }
}

fn axles(sheet: &mut Sheet, findings: &Findings) {
    let weight = &findings.weight;
    if weight.axles.is_empty() {
        if !weight.missing.is_empty() {
            sheet.paragraph(&format!(
                "Axles unknown: the file lacks {}.",
                words::list(&words::fields(&weight.missing), 8)
            ));
        }
        return;
    }
    axle_table(sheet, &weight.axles);
}

/// Axle loads in each load state, and what each limit leaves.
pub fn axle_table(sheet: &mut Sheet, lines: &[AxleLine]) {
    let left = |value: Option<f64>| value.map_or_else(|| "-".into(), |kg| format!("{kg:.0}"));
    let rows: Vec<Vec<String>> = lines
        .iter()
        .map(|line| {
            let state = match line.state {
                LoadState::Empty => "empty",
                LoadState::Touring => "touring",
            };
            vec![
                state.to_owned(),
                format!("{:.0}", line.front_kg),
                left(line.front_left_kg),
                format!("{:.0}", line.rear_kg),
                left(line.rear_left_kg),
                left(line.payload_left_kg),
                left(line.right_minus_left_kg),
            ]
        })
        .collect();
    sheet.blank();
    let heads = [
        ("kg", Side::Left),
        ("front", Side::Right),
        ("to spare", Side::Right),
        ("rear", Side::Right),
        ("to spare", Side::Right),
        ("payload to spare", Side::Right),
        ("right more than left", Side::Right),
    ];
    table(sheet, &heads, &rows);
}

fn whole_frame(sheet: &mut Sheet, findings: &Findings) {
    if let Some(text) = whole::stability(&findings.stability) {
        sheet.blank();
        sheet.paragraph(&format!("{text}; more: batten why design."));
    }
    whole_screen::holding_down(sheet, findings);
    whole_screen::rooms(sheet, findings);
}

fn shares(sheet: &mut Sheet, findings: &Findings) {
    if findings.shares.is_empty() {
        return;
    }
    let rows: Vec<Vec<String>> = findings
        .shares
        .iter()
        .map(|share| {
            vec![
                share.anchor.clone(),
                format!("{:.0}", share.equal_kg),
                format!("{:.0}", share.computed_kg),
                share.combination.clone(),
            ]
        })
        .collect();
    sheet.blank();
    let heads = [
        ("on the vehicle", Side::Left),
        ("kg, shared alike", Side::Right),
        ("kg, computed", Side::Right),
        ("under", Side::Left),
    ];
    table(sheet, &heads, &rows);
}

fn assumptions(sheet: &mut Sheet, findings: &Findings) {
    if findings.assumptions.is_empty() {
        return;
    }
    sheet.blank();
    sheet.line("Assumed");
    for item in &findings.assumptions {
        let text = format!("{}: {}", words::assumption(item), words::assumption_advice(item.code));
        sheet.hanging("  ", &text);
    }
}

fn not_checked(sheet: &mut Sheet, findings: &Findings) {
    let mut kinds: Vec<_> = findings.not_checked.iter().map(|item| item.what).collect();
    kinds.sort_unstable();
    kinds.dedup();
    if kinds.is_empty() {
        return;
    }
    sheet.blank();
    sheet.line("Not checked");
    for kind in kinds {
        let tags: Vec<String> =
            findings.not_checked.iter().filter(|item| item.what == kind).map(|item| item.tag.clone()).collect();
        let about = if tags.iter().all(|tag| tag == "design") {
            String::new()
        } else {
            format!(" ({})", words::list(&tags, 12))
        };
        sheet.hanging("  ", &format!("{}{about}", words::unchecked_long(kind)));
    }
}

fn evidence(sheet: &mut Sheet, findings: &Findings) {
    let worst = findings.combinations.iter().map(|item| item.residual.abs()).fold(0.0, f64::max);
    sheet.blank();
    let count = findings.combinations.len();
    sheet.paragraph(&format!(
        "Engine {}: {count} combination{}, {} unknowns; greatest residual {worst:.0e}, condition {:.0e}.",
        findings.engine_version,
        if count == 1 { "" } else { "s" },
        findings.equations.unknowns,
        findings.equations.condition
    ));
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;
    use crate::output::samples::{self, assert_screen};

    #[test]
    fn the_tables_of_a_frame_that_falls_short() {
        let (design, findings) = samples::with_results();
        assert_screen("table", &full(&design, &findings, 80));
    }
}
