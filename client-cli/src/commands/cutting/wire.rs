//! The wire's answers about cutting, made plain.

use crate::commands::online;
use crate::cutting::{AsBuilt, Concession, MeasuredMass, MeasuredSag, Stamp};
use crate::error::ClientError;
use battenboard_proto::{convert, v1};

pub fn stamp(wire: v1::CuttingStamp) -> Stamp {
    let v1::CuttingStamp {
        letter,
        issued_by,
        issue_time,
        override_reason,
        overridden,
        take_back_time,
        taken_back_by,
        take_back_reason,
        superseded,
        falls_short_now,
    } = wire;
    Stamp {
        letter,
        issued_by,
        issued_us: online::instant(issue_time),
        override_reason,
        overridden,
        taken_back_us: take_back_time.map(|time| online::instant(Some(time))),
        taken_back_by,
        take_back_reason,
        superseded,
        falls_short_now,
    }
}

pub fn concession(wire: v1::Concession) -> Result<Concession, ClientError> {
    let v1::Concession { letter, tag, check_kind, utilisation, reason, account, create_time, lapsed } = wire;
    let unknown = || ClientError::Shape { cause: "a concession for an unknown check".into() };
    let check = convert::check_kind_from_wire(check_kind).ok_or_else(unknown)?;
    let at_us = online::instant(create_time);
    Ok(Concession { letter, tag, check, utilisation, reason, account, at_us, lapsed })
}

pub fn as_built(wire: v1::AsBuilt) -> Result<AsBuilt, ClientError> {
    let v1::AsBuilt { letter, account, create_time, note, masses, sags } = wire;
    Ok(AsBuilt {
        letter,
        account,
        at_us: online::instant(create_time),
        note,
        masses: masses.into_iter().map(mass).collect::<Result<_, _>>()?,
        sags: sags.into_iter().map(sag).collect(),
    })
}

fn mass(wire: v1::MeasuredMass) -> Result<MeasuredMass, ClientError> {
    let of = wire.of();
    let v1::MeasuredMass { of: _, name, mass_kg, computed_mass_kg } = wire;
    let what = match of {
        v1::MassOf::Frame => "the frame".to_owned(),
        v1::MassOf::Stock => format!("stock {name}"),
        v1::MassOf::Kind => format!("every {name}"),
        v1::MassOf::Unspecified => return Err(ClientError::Shape { cause: "a mass of nothing known".into() }),
    };
    Ok(MeasuredMass { what, mass_kg, computed_kg: computed_mass_kg })
}

fn sag(wire: v1::MeasuredSag) -> MeasuredSag {
    let v1::MeasuredSag { tag, at_mm, load_kg, sag_mm, computed_sag_mm } = wire;
    MeasuredSag { tag, at_mm, load_kg, sag_mm, computed_mm: computed_sag_mm }
}
