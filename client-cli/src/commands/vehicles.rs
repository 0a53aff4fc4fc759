//! Vehicles of a group: their surveys, what their frames weigh together, and a survey to and from the design file.

mod wire;

use super::Common;
use super::online;
use super::withheld::SAID;
use crate::args::{GroupArgs, SurveyArgs, VehicleArgs};
use crate::connect::{Channel, MESSAGE_LIMIT, Server, request_id};
use crate::error::ClientError;
use crate::exit::Exit;
use crate::file::{self, Loaded};
use crate::io::Io;
use crate::output::columns::{Side, table};
use crate::output::{times, vehicle_screen};
use crate::vehicle::{MassSum, Survey};
use battenboard_designfile::{set_vehicle, vehicle_fields};
use battenboard_engine::design::Vehicle;
use battenboard_proto::v1::vehicle_service_client::VehicleServiceClient;
use battenboard_proto::{convert, v1};
use std::collections::BTreeMap;

pub use wire::drawn_on;

fn client(channel: Channel) -> VehicleServiceClient<Channel> {
    VehicleServiceClient::new(channel).max_decoding_message_size(MESSAGE_LIMIT)
}

fn group(common: &Common, args: &GroupArgs, io: &Io<'_>, server: &mut Server) -> Result<String, ClientError> {
    let home = online::sidecar(common, io)?.and_then(|(_, home)| home);
    online::group(server, args, home.as_ref())
}

pub fn list(common: &Common, args: &GroupArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let group = group(common, args, io, &mut server)?;
    let found = online::pages(|page_token| {
        let body = v1::ListVehiclesRequest { group: group.clone(), page_size: online::PAGE, page_token };
        let answer = server.call(body, async |channel, request| client(channel).list_vehicles(request).await)?;
        Ok((answer.vehicles, answer.next_page_token))
    })?;
    let vehicles: Vec<_> = found.into_iter().map(wire::surveyed).collect();
    if common.json {
        io.json(&serde_json::json!({ "group": group, "vehicles": vehicles }))?;
        return Ok(Exit::Holds);
    }
    let mut sheet = io.sheet();
    sheet.paragraph(&format!("Vehicles of {group}"));
    if vehicles.is_empty() {
        sheet.paragraph("None was surveyed yet.");
        sheet.hanging("Next: ", "batten survey records what the design file says of its vehicle");
    } else {
        let row = |it: &crate::vehicle::Surveyed| {
            vec![vehicle_screen::name(&it.vehicle), it.latest_survey.to_string(), times::day(it.latest_us, &io.zone)]
        };
        let rows: Vec<Vec<String>> = vehicles.iter().map(row).collect();
        table(&mut sheet, &[("vehicle", Side::Left), ("latest survey", Side::Right), ("of", Side::Left)], &rows);
        sheet.hanging("Next: ", "batten vehicle NAME shows its surveys and what its frames weigh together");
    }
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

/// All surveys of a vehicle, newest first.
fn surveys(server: &mut Server, group: &str, vehicle: &str) -> Result<Vec<Survey>, ClientError> {
    let found = online::pages(|page_token| {
        let (group, vehicle) = (group.to_owned(), vehicle.to_owned());
        let body = v1::GetVehicleRequest { group, vehicle, page_size: online::PAGE, page_token };
        let answer = server.call(body, async |channel, request| client(channel).get_vehicle(request).await)?;
        Ok((answer.surveys, answer.next_page_token))
    });
    let found = found.map_err(|error| match error {
        // Of a group that is not there nothing can be listed.
        ClientError::Refused { exit, message, hint: None } if message.contains(vehicle) => {
            let hint = Some(format!("batten vehicles --group {group} lists those it has; batten survey records one"));
            ClientError::Refused { exit, message, hint }
        }
        other => other,
    })?;
    found.into_iter().map(wire::survey).collect()
}

fn sum(server: &mut Server, group: &str, vehicle: &str) -> Result<MassSum, ClientError> {
    let body = v1::SumVehicleMassesRequest { group: group.to_owned(), vehicle: vehicle.to_owned() };
    let answer = server.call(body, async |channel, request| client(channel).sum_vehicle_masses(request).await)?;
    wire::sum(online::needed(answer.sum, "sum")?)
}

/// The vehicle that is meant: named, or the design file's.
fn named(common: &Common, name: Option<String>, io: &Io<'_>) -> Result<String, ClientError> {
    match name {
        Some(name) => Ok(name),
        None => {
            let loaded = file::load(io, common.file())?;
            name_of(&loaded)
        }
    }
}

fn name_of(loaded: &Loaded) -> Result<String, ClientError> {
    let name = loaded.design.vehicle.name.clone();
    if name.trim().is_empty() {
        let hint = "write [vehicle] and name = \"...\" into it, or name the vehicle: batten vehicles lists them";
        return Err(ClientError::usage(format!("`{}` does not say which vehicle it is for", loaded.shown), hint));
    }
    Ok(name)
}

pub fn show(common: &Common, args: VehicleArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let VehicleArgs { name, group: of } = args;
    let name = named(common, name, io)?;
    let mut server = online::connect(common, io)?;
    let group = group(common, &of, io, &mut server)?;
    let surveys = surveys(&mut server, &group, &name)?;
    let sum = sum(&mut server, &group, &name)?;
    let exit = if sum.is_over() { Exit::FallsShort } else { Exit::Holds };
    if common.json {
        let said = sum.figures_withheld.then_some(SAID);
        io.json(&serde_json::json!({
            "group": group, "vehicle": name, "surveys": surveys, "sum": sum, "said": said,
        }))?;
        return Ok(exit);
    }
    let mut sheet = io.sheet();
    vehicle_screen::vehicle(&mut sheet, &group, &name, &surveys, &io.zone);
    sheet.blank();
    vehicle_screen::aboard(&mut sheet, &sum, SAID);
    io.show(&sheet)?;
    Ok(exit)
}

pub fn survey(common: &Common, args: SurveyArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let SurveyArgs { name, take, note, group: of } = args;
    let loaded = file::load(io, common.file())?;
    let mut server = online::connect(common, io)?;
    let group = group(common, &of, io, &mut server)?;
    if take {
        let name = name.map_or_else(|| name_of(&loaded), Ok)?;
        return self::take(common, io, &mut server, &group, &name, &loaded);
    }
    let vehicle = &loaded.design.vehicle;
    let stated = name_of(&loaded)?;
    if let Some(name) = name.filter(|name| *name != stated) {
        let message = format!("`{}` is for the vehicle {stated}, not for {name}", loaded.shown);
        return Err(ClientError::usage(
            message,
            format!("batten survey {name} --take takes that vehicle into the file"),
        ));
    }
    let body = v1::RecordSurveyRequest {
        group: group.clone(),
        vehicle: Some(convert::vehicle_to_wire(vehicle)),
        note: note.unwrap_or_default(),
        request_id: request_id(),
    };
    let answer = server.call(body, async |channel, request| client(channel).record_survey(request).await)?;
    let survey = wire::survey(online::needed(answer.survey, "survey")?)?;
    if common.json {
        io.json(&serde_json::json!({
            "group": group, "vehicle": stated, "survey": survey, "unchanged": answer.unchanged,
        }))?;
        return Ok(Exit::Holds);
    }
    let (mut sheet, number) = (io.sheet(), survey.number);
    if answer.unchanged {
        sheet.paragraph(&format!("Nothing changed: it says what survey {number} says, so there is no new one."));
    } else {
        sheet.paragraph(&format!("Recorded as survey {number} of {} in {group}.", vehicle_screen::name(&stated)));
    }
    vehicle_screen::survey(&mut sheet, &survey, &io.zone);
    sheet.hanging("Next: ", "batten submit; what is drawn on an older survey says so from now on");
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

/// Writes the latest survey into the design file.
fn take(
    common: &Common,
    io: &mut Io<'_>,
    server: &mut Server,
    group: &str,
    name: &str,
    loaded: &Loaded,
) -> Result<Exit, ClientError> {
    let latest = surveys(server, group, name)?.into_iter().next();
    let survey = online::needed(latest, "surveys")?;
    let changes = changes(&loaded.design.vehicle, &survey.figures);
    if !changes.is_empty() {
        let text = set_vehicle(&loaded.text, &survey.figures)
            .map_err(|cause| ClientError::Usage { message: cause.to_string(), hint: None })?;
        file::write_whole(&loaded.path, &text)?;
    }
    if common.json {
        let list: Vec<_> = changes
            .iter()
            .map(|(field, before, after)| serde_json::json!({ "field": field, "before": before, "after": after }))
            .collect();
        io.json(&serde_json::json!({
            "file": loaded.shown, "vehicle": name, "survey": survey.number, "changes": list,
        }))?;
        return Ok(Exit::Holds);
    }
    let mut sheet = io.sheet();
    let of = format!("survey {} of {}", survey.number, vehicle_screen::name(name));
    if changes.is_empty() {
        sheet.paragraph(&format!("Nothing changed: {} says what {of} says.", loaded.shown));
        io.show(&sheet)?;
        return Ok(Exit::Holds);
    }
    sheet.paragraph(&format!("Written into {}: {of}.", loaded.shown));
    for (field, before, after) in &changes {
        let said = |value: &Option<String>| value.clone().unwrap_or_else(|| "not stated".to_owned());
        sheet.hanging(&format!("  {field}: "), &format!("{} -> {}", said(before), said(after)));
    }
    sheet.hanging("Next: ", "batten check, then batten submit");
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

/// A key of the file with what it said and says; `None`: not stated.
type Change = (String, Option<String>, Option<String>);

fn changes(before: &Vehicle, after: &Vehicle) -> Vec<Change> {
    let old: BTreeMap<String, String> = vehicle_fields(before).into_iter().collect();
    let new = vehicle_fields(after);
    let mut changes: Vec<Change> = Vec::new();
    for (key, value) in &new {
        let was = old.get(key);
        if was != Some(value) {
            changes.push((key.clone(), was.cloned(), Some(value.clone())));
        }
    }
    let gone = old.into_iter().filter(|(key, _)| !new.iter().any(|(known, _)| known == key));
    changes.extend(gone.map(|(key, value)| (key, Some(value), None)));
    changes
}
