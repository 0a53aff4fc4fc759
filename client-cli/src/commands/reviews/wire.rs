//! The wire's answers about reviews, made plain.

use crate::commands::online;
use crate::error::ClientError;
use crate::review::{Conclusion, Disposition, Item, Look, LookKind, MemberDisposition, OwnSums, Review};
use battenboard_proto::v1;

pub fn review(wire: v1::Review) -> Result<Review, ClientError> {
    let v1::Review {
        letter,
        conclusions,
        looked_at,
        nobody,
        own_sums: sums,
        open_snag_count,
        open_other_count,
        figures_withheld,
    } = wire;
    Ok(Review {
        letter,
        conclusions: conclusions.into_iter().map(conclusion).collect::<Result<_, _>>()?,
        looked_at: looked_at.into_iter().map(item).collect::<Result<_, _>>()?,
        nobody: nobody.into_iter().map(item).collect::<Result<_, _>>()?,
        own_sums: sums.into_iter().map(own_sums).collect(),
        open_snags: open_snag_count,
        open_others: open_other_count,
        figures_withheld,
    })
}

fn unknown(what: &str) -> ClientError {
    ClientError::Shape { cause: format!("a review with an unknown {what}") }
}

fn item(wire: v1::ItemLooks) -> Result<Item, ClientError> {
    let v1::ItemLooks { place, looks, looked_before_letter } = wire;
    let place = online::needed(place, "place")?;
    let kind = match place.kind() {
        v1::PlaceKind::Member => "member",
        v1::PlaceKind::Joint => "joint",
        v1::PlaceKind::Anchor => "anchor",
        v1::PlaceKind::Deck => "deck",
        v1::PlaceKind::Whole | v1::PlaceKind::Unspecified => return Err(unknown("kind of place")),
    };
    Ok(Item {
        kind,
        tag: place.tag,
        looks: looks.into_iter().map(look).collect::<Result<_, _>>()?,
        looked_before: (!looked_before_letter.is_empty()).then_some(looked_before_letter),
    })
}

fn look(wire: v1::Look) -> Result<Look, ClientError> {
    let kind = match wire.kind() {
        v1::LookKind::LookedAtOnly => LookKind::LookedAtOnly,
        v1::LookKind::ServersSums => LookKind::ServersSums,
        v1::LookKind::OwnSums => LookKind::OwnSums,
        v1::LookKind::Unspecified => return Err(unknown("look")),
    };
    let v1::Look { account, kind: _, letter: _, create_time, own_utilisation, own_sag_mm, note, server_utilisation } =
        wire;
    let at_us = online::instant(create_time);
    Ok(Look { account, kind, at_us, own_utilisation, own_sag_mm, note, server_utilisation })
}

fn disposition(wire: v1::Disposition) -> Result<Disposition, ClientError> {
    match wire {
        v1::Disposition::CutIt => Ok(Disposition::CutIt),
        v1::Disposition::CutItWithChanges => Ok(Disposition::CutItWithChanges),
        v1::Disposition::ChangeAndSendAgain => Ok(Disposition::ChangeAndSendAgain),
        v1::Disposition::DoNotBuild => Ok(Disposition::DoNotBuild),
        v1::Disposition::Unspecified => Err(unknown("disposition")),
    }
}

fn conclusion(wire: v1::Conclusion) -> Result<Conclusion, ClientError> {
    let of_whole = disposition(wire.disposition())?;
    let v1::Conclusion { account, letter: _, create_time, disposition: _, note, members, from_outside, superseded } =
        wire;
    Ok(Conclusion {
        account,
        at_us: online::instant(create_time),
        disposition: of_whole,
        note,
        members: members.into_iter().map(member).collect::<Result<_, _>>()?,
        from_outside,
        superseded,
    })
}

fn member(wire: v1::MemberDisposition) -> Result<MemberDisposition, ClientError> {
    let disposition = disposition(wire.disposition())?;
    let v1::MemberDisposition { tag, disposition: _, note } = wire;
    Ok(MemberDisposition { tag, disposition, note })
}

pub fn own_sums(wire: v1::OwnSums) -> OwnSums {
    let v1::OwnSums { account, begin_time, end_time, figures_in, reason } = wire;
    let ended_us = end_time.map(|time| online::instant(Some(time)));
    OwnSums { account, begun_us: online::instant(begin_time), ended_us, figures_in, reason }
}
