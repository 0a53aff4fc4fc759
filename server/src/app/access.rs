//! Who sees a design, from which revision on, and what he may do to it. Nobody, unless one of these says so:
//!
//! - the crew of its group, all of it, each by his right;
//! - who took up a notice: as a reviewer, from the notice's revision on, until it is handed back or ended; what others may
//!   read of it too, he reads like them;
//! - signed-in accounts while a notice hangs, where the design's visibility is the noticeboard: as onlookers, from the
//!   notice's revision on;
//! - anyone, where its visibility is open: as an onlooker.
//!
//! What one may not see does not exist.

use super::error::AppResult;
use super::groups::{look_up, right_of};
use super::{AppError, letters};
use crate::auth::{Caller, Need, Right};
use crate::clock::now_micros;
use crate::store::{Connection, designs, groups, notices, reviews, revisions, take_ups};
use battenboard_engine::design::Vehicle;
use battenboard_engine::findings::WeightTable;
use uuid::Uuid;

/// Who beyond the crew may see a design.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Visibility {
    /// The group alone.
    Group,
    /// Signed-in accounts while a notice hangs.
    Noticeboard,
    /// Anyone.
    Open,
}

impl Visibility {
    /// Its word in the database.
    pub fn word(self) -> &'static str {
        match self {
            Self::Group => "group",
            Self::Noticeboard => "noticeboard",
            Self::Open => "open",
        }
    }

    /// The visibility of a word in the database; what is not known is seen by the group alone.
    pub fn of_word(word: &str) -> Self {
        [Self::Noticeboard, Self::Open].into_iter().find(|known| known.word() == word).unwrap_or(Self::Group)
    }
}

/// By what a caller sees a design.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// He is of its crew.
    Crew,
    /// He took up a notice; its taking up.
    TookUp(Uuid),
    /// It is shown beyond its crew.
    Shown,
}

/// What a caller may see of a design and do to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Access {
    /// By what.
    pub standing: Standing,
    /// Up to what.
    pub right: Right,
    /// The first revision that he sees, by ordinal.
    pub from: i64,
    /// The first revision to which he may do what he called for.
    pub allowed_from: i64,
    /// True while he makes sums of his own on it: then the server keeps its figures from him, on every way out.
    pub withheld: bool,
}

impl Access {
    /// True for one of the crew.
    pub fn is_crew(&self) -> bool {
        self.standing == Standing::Crew
    }

    /// The taking up of a notice through which he is here, if that is how.
    pub fn take_up_id(&self) -> Option<Uuid> {
        match self.standing {
            Standing::TookUp(id) => Some(id),
            Standing::Crew | Standing::Shown => None,
        }
    }

    /// Takes out of a vehicle what only its crew see: the masses on its plate and the weighings.
    pub fn cut_vehicle(&self, vehicle: &mut Vehicle) {
        if !self.is_crew() {
            let Vehicle { name, survey, wheelbase_mm, track_mm, length_mm, seats, inside, .. } =
                std::mem::take(vehicle);
            *vehicle = Vehicle { name, survey, wheelbase_mm, track_mm, length_mm, seats, inside, ..Vehicle::default() };
        }
    }

    /// Takes out of a weight table what tells the plate: axle loads and what is left to their limits.
    pub fn cut_weights(&self, weight: &mut WeightTable) {
        if !self.is_crew() {
            weight.axles = Vec::new();
            weight.missing = Vec::new();
        }
    }
}

/// A design that the caller may see, found by name.
#[derive(Clone, Debug)]
pub struct Place {
    /// Its group.
    pub group: groups::Group,
    /// The design.
    pub design: designs::Design,
    /// What the caller may see of it and do to it.
    pub access: Access,
}

/// A design that the caller may see, and do to it what he called for.
///
/// # Errors
/// [`AppError::NotFound`], [`AppError::NotAllowed`].
pub async fn find<C: Connection>(conn: &C, caller: &Caller, group: &str, design: &str) -> AppResult<Place> {
    let no_group = || AppError::not_found("group", group.chars().take(40).collect::<String>());
    let no_design = || AppError::not_found("design", design.chars().take(40).collect::<String>());
    let group = look_up(conn, group).await?.ok_or_else(no_group)?;
    let row = if design.contains('\0') { None } else { designs::by_name(conn, group.id, design).await? };
    let crew = crew_of(conn, group.id, caller).await?;
    let Some(row) = row else {
        // Only the crew learn that the group is there and the design is not.
        return Err(if crew.is_some() { no_design() } else { no_group() });
    };
    let access = access(conn, caller, &row, crew).await?.ok_or_else(no_group)?;
    refuse_without_right(caller, Place { group, design: row, access })
}

/// The same for what something else led to: a revision of a design, by ordinal; `None` where the caller may not see it.
///
/// # Errors
/// [`AppError::NotAllowed`].
pub async fn enter<C: Connection>(
    conn: &C,
    caller: &Caller,
    design_id: Uuid,
    ordinal: i64,
) -> AppResult<Option<Place>> {
    let Some(design) = designs::by_id(conn, design_id).await? else { return Ok(None) };
    let Some(group) = groups::by_id(conn, design.group_id).await? else { return Ok(None) };
    let crew = crew_of(conn, group.id, caller).await?;
    let Some(access) = access(conn, caller, &design, crew).await?.filter(|access| ordinal >= access.from) else {
        return Ok(None);
    };
    let place = refuse_without_right(caller, Place { group, design, access })?;
    place.refuse_before(ordinal)?;
    Ok(Some(place))
}

/// Why somebody who is not of a group's crew may not do what is the crew's to a design of it: one that he sees he is told,
/// what he does not see is `hidden`.
pub async fn refusal_of_others<C: Connection>(
    conn: &C,
    caller: &Caller,
    group: &str,
    design: &str,
    hidden: AppError,
) -> AppError {
    match find(conn, caller, group, design).await {
        Err(error @ AppError::NotAllowed { .. }) => error,
        _ => hidden,
    }
}

fn refuse_without_right(caller: &Caller, place: Place) -> AppResult<Place> {
    let for_crew = matches!(caller.need, Need::Crew(_));
    if caller.may(place.access.right) && (place.access.is_crew() || !for_crew) {
        return Ok(place);
    }
    let Place { group, design, access } = &place;
    let what = match access.standing {
        Standing::Crew => format!("as {} of `{}` you may not do this", access.right.word(), group.name),
        Standing::TookUp(_) => format!("you took up `{}` to look at it: this is for its crew", design.name),
        Standing::Shown => format!("you may read `{}`, no more: take up its notice, or ask its keeper", design.name),
    };
    Err(AppError::NotAllowed { what })
}

/// The right of a caller within a group, if he is of its crew.
pub async fn crew_of<C: Connection>(conn: &C, group_id: Uuid, caller: &Caller) -> AppResult<Option<Right>> {
    let entry = groups::role(conn, group_id, caller.account_id).await?;
    entry.map(|entry| right_of(&entry.role)).transpose()
}

async fn access<C: Connection>(
    conn: &C,
    caller: &Caller,
    design: &designs::Design,
    crew: Option<Right>,
) -> AppResult<Option<Access>> {
    let withheld = reviews::open_own_sums(conn, design.id, caller.account_id).await?.is_some();
    if let Some(right) = crew {
        return Ok(Some(Access { standing: Standing::Crew, right, from: 1, allowed_from: 1, withheld }));
    }
    let shown_from = match Visibility::of_word(&design.visibility) {
        Visibility::Open => Some(1),
        Visibility::Noticeboard if !caller.is_visitor() => {
            notices::least_ordinal(conn, design.id, now_micros()).await?
        }
        Visibility::Noticeboard | Visibility::Group => None,
    };
    if let Some(taken) = take_ups::open_on_design(conn, design.id, caller.account_id).await? {
        let from = shown_from.map_or(taken.from_ordinal, |shown| shown.min(taken.from_ordinal));
        let reads = matches!(caller.need, Need::Read | Need::Design(Right::Onlooker));
        let allowed_from = if reads { from } else { taken.from_ordinal };
        let (standing, right) = (Standing::TookUp(taken.id), Right::Reviewer);
        return Ok(Some(Access { standing, right, from, allowed_from, withheld }));
    }
    // Somebody may have begun sums of his own and handed the notice back: they still stand.
    let (standing, right) = (Standing::Shown, Right::Onlooker);
    Ok(shown_from.map(|from| Access { standing, right, from, allowed_from: from, withheld }))
}

impl Place {
    /// The ordinal of a letter of this design; empty: the latest.
    ///
    /// # Errors
    /// [`AppError::NotFound`], also for a revision before the first that the caller sees; [`AppError::NotAllowed`] for one
    /// that he may read, no more.
    pub fn ordinal(&self, letter: &str) -> AppResult<i64> {
        if letter.is_empty() {
            return Ok(self.design.latest_ordinal);
        }
        let seen = self.access.from..=self.design.latest_ordinal;
        let found = letters::ordinal(letter).filter(|ordinal| seen.contains(ordinal));
        let found = found.ok_or_else(|| AppError::not_found("revision", letter.chars().take(8).collect::<String>()))?;
        self.refuse_before(found)?;
        Ok(found)
    }

    /// Refuses what the caller called for on a revision that he may read, no more.
    ///
    /// # Errors
    /// [`AppError::NotAllowed`].
    pub fn refuse_before(&self, ordinal: i64) -> AppResult<()> {
        if ordinal >= self.access.allowed_from {
            return Ok(());
        }
        let first = letters::letter(self.access.allowed_from);
        let what = format!("you took up `{}` from revision {first} on: earlier ones you may read", self.design.name);
        Err(AppError::NotAllowed { what })
    }

    /// The heading of a revision of this design.
    ///
    /// # Errors
    /// [`AppError::NotFound`].
    pub async fn heading<C: Connection>(&self, conn: &C, ordinal: i64) -> AppResult<revisions::Heading> {
        let found = revisions::heading(conn, self.design.id, ordinal).await?;
        found.ok_or_else(|| AppError::not_found("revision", letters::letter(ordinal)))
    }

    /// A revision of this design, whole.
    ///
    /// # Errors
    /// [`AppError::NotFound`].
    pub async fn revision<C: Connection>(&self, conn: &C, ordinal: i64) -> AppResult<revisions::Revision> {
        let found = revisions::by_ordinal(conn, self.design.id, ordinal).await?;
        found.ok_or_else(|| AppError::not_found("revision", letters::letter(ordinal)))
    }

    /// True where an account has submitted a revision of this design.
    ///
    /// # Errors
    /// Those of the store.
    pub async fn has_submitted<C: Connection>(&self, conn: &C, account_id: Uuid) -> AppResult<bool> {
        Ok(revisions::any_by(conn, self.design.id, account_id).await?)
    }
}
