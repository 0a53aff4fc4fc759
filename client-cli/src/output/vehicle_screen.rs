//! A vehicle: its surveys, what all frames in it weigh together, and what a revision is drawn on.

use super::columns::{Side, table};
use super::remarks_screen::{plain, text};
use super::sheet::Sheet;
use super::{figures, table_screen, times, words};
use crate::vehicle::{Aboard, DrawnOn, MassSum, Survey};
use battenboard_designfile::vehicle_fields;
use jiff::tz::TimeZone;

/// Surveys whose figures are shown; of older ones a line each.
const SHOWN_WHOLE: usize = 1;
/// Surveys that are shown at all.
const MOST: usize = 6;

/// A vehicle's name, as somebody wrote it.
pub fn name(vehicle: &str) -> String {
    plain(vehicle)
}

/// `drawn on survey 2; survey 3 of 2026-11-25 is newer`; `None` where it is the latest.
pub fn outdated(drawn_on: &DrawnOn, zone: &TimeZone) -> Option<String> {
    let DrawnOn { survey, latest, latest_us } = *drawn_on;
    let day = times::day(latest_us, zone);
    (latest > survey).then(|| format!("drawn on survey {survey}; survey {latest} of {day} is newer"))
}

/// A survey with its figures as a design file would write them.
pub fn survey(sheet: &mut Sheet, survey: &Survey, zone: &TimeZone) {
    heading(sheet, survey, zone);
    let fields = vehicle_fields(&survey.figures).into_iter().filter(|(key, _)| key != "name" && key != "survey");
    let said: Vec<String> = fields.map(|(key, value)| format!("{} {value}", key.replace('_', " "))).collect();
    sheet.hanging("   ", &said.join("; "));
}

fn heading(sheet: &mut Sheet, survey: &Survey, zone: &TimeZone) {
    let Survey { number, author, at_us, came_with, .. } = survey;
    let with = came_with.as_ref().map(|(design, letter)| format!(", with {design} {letter}")).unwrap_or_default();
    sheet.paragraph(&format!("Survey {number}, {}, by {author}{with}", times::instant(*at_us, zone)));
    text(sheet, "   ", &survey.note);
}

/// A vehicle with its surveys, newest first.
pub fn vehicle(sheet: &mut Sheet, group: &str, vehicle: &str, surveys: &[Survey], zone: &TimeZone) {
    sheet.paragraph(&format!("{} of {group}", name(vehicle)));
    for (index, one) in surveys.iter().take(MOST).enumerate() {
        if index < SHOWN_WHOLE { survey(sheet, one, zone) } else { heading(sheet, one, zone) }
    }
    if surveys.len() > MOST {
        sheet.paragraph(&format!("and {} older; --json shows them all", surveys.len() - MOST));
    }
}

/// What the frames of a vehicle weigh together. `withheld`: what is said where figures are kept from whoever asks.
pub fn aboard(sheet: &mut Sheet, sum: &MassSum, withheld: &str) {
    if sum.frames.is_empty() {
        sheet.paragraph("No design of this vehicle was submitted yet.");
        return;
    }
    let heads = [
        ("aboard", Side::Left),
        ("", Side::Left),
        ("frame kg", Side::Right),
        ("gear kg", Side::Right),
        ("", Side::Left),
    ];
    let rows: Vec<Vec<String>> = sum.frames.iter().map(|frame| row(frame, sum.survey)).collect();
    table(sheet, &heads, &rows);
    totals(sheet, sum);
    if sum.figures_withheld {
        sheet.paragraph("Nothing is summed for you.");
        sheet.paragraph(withheld);
    }
    if sum.more_frames {
        sheet.paragraph("Not checked: this vehicle has more designs than are summed.");
    }
    let open: Vec<String> = sum.frames.iter().filter(|it| it.not_reckoned).map(|it| it.design.clone()).collect();
    if !open.is_empty() {
        sheet.paragraph(&format!("Not checked: {} can't be reckoned by this server.", words::list(&open, 4)));
    }
    doubts(sheet, sum);
}

fn kilograms(value: Option<f64>) -> String {
    value.map_or_else(|| "-".to_owned(), |kg| format!("{kg:.1}"))
}

fn row(frame: &Aboard, latest: i64) -> Vec<String> {
    let Aboard { design, letter, issued, survey, .. } = frame;
    let which = if *issued { format!("{letter}, issued") } else { format!("{letter}, latest") };
    let drawn = match *survey {
        0 => "names no survey".to_owned(),
        number if number < latest => format!("drawn on survey {number}"),
        _ => String::new(),
    };
    vec![design.clone(), which, kilograms(frame.frame_kg), kilograms(frame.gear_kg), drawn]
}

fn totals(sheet: &mut Sheet, sum: &MassSum) {
    let (Some(frames), Some(gear), Some(passengers)) = (sum.frames_kg, sum.gear_kg, sum.passengers_kg) else { return };
    let kg = figures::kilograms;
    let parts = format!("frames {}, gear {}, passengers {}", kg(frames), kg(gear), kg(passengers));
    let missing = || words::list(&words::fields(&sum.missing), 8);
    match (sum.weighed_kg, sum.total_kg, sum.payload_left_kg) {
        (Some(weighed), Some(total), left) => {
            sheet.paragraph(&format!("Weighed with driver and fuel {}, {parts}: {} in all.", kg(weighed), kg(total)));
            match left {
                Some(left) if left < 0.0 => {
                    sheet.paragraph(&format!("That is {} over the permissible mass.", kg(-left)));
                }
                Some(left) => sheet.paragraph(&format!("That leaves {} of payload.", kg(left))),
                None => sheet.paragraph("Payload not checked: the survey lacks gross_limit."),
            }
        }
        _ => sheet.paragraph(&format!("Together: {parts}. The rest is not checked: the survey lacks {}.", missing())),
    }
    if sum.axles.is_empty() {
        sheet.paragraph(&format!("Axles not checked: the survey lacks {}.", missing()));
        return;
    }
    table_screen::axle_table(sheet, &sum.axles);
    for (axle, left) in
        [("front", least(sum, |line| line.front_left_kg)), ("rear", least(sum, |line| line.rear_left_kg))]
    {
        if let Some(over) = left.filter(|left| *left < 0.0) {
            sheet.paragraph(&format!("The {axle} axle is {} over its limit.", kg(-over)));
        }
    }
}

fn least(sum: &MassSum, of: impl Fn(&battenboard_engine::findings::AxleLine) -> Option<f64>) -> Option<f64> {
    sum.axles.iter().filter_map(of).reduce(f64::min)
}

/// What may be counted twice.
fn doubts(sheet: &mut Sheet, sum: &MassSum) {
    if !sum.gear_named_twice.is_empty() {
        let names: Vec<String> = sum.gear_named_twice.iter().map(|name| plain(name)).collect();
        let names = words::list(&names, 4);
        sheet.paragraph(&format!("In more than one design, and counted in each: {names}."));
    }
    let built: Vec<String> =
        sum.frames.iter().filter(|it| it.built_before_survey).map(|it| it.design.clone()).collect();
    if !built.is_empty() {
        let names = words::list(&built, 4);
        sheet.paragraph(&format!(
            "Built before survey {}: {names}. If it was aboard when the vehicle was weighed, it is counted twice.",
            sum.survey
        ));
    }
}

#[cfg(test)]
#[path = "vehicle_screen_tests.rs"]
mod tests;
