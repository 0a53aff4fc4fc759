//! Remarks go with their items from revision to revision. What is stored of it follows from the remark's own revision and
//! those after it: written with each submit, with each remark on an older revision, and once for remarks that a release
//! before this left where they were.

use crate::app::tags::PlaceKind;
use crate::app::{App, AppError, AppResult, content};
use crate::store::standings::{self, Placed, Standing};
use crate::store::{Connection, WriteTx, designs, revisions};
use battenboard_engine::design::Design;
use battenboard_engine::design::canonical::canonical_json;
use battenboard_engine::design::carry::{Carried, On, Origin, Step, What};
use std::collections::BTreeMap;
use std::sync::Arc;
use uuid::Uuid;

/// Remarks that are carried at a time: what they take of memory does not grow with their number.
const AT_ONCE: u64 = 1000;
/// Submits that may come in between while remarks are caught up with.
const TRIES: usize = 5;

/// What is to be written.
#[derive(Debug, Default)]
pub struct Rows {
    standings: Vec<Standing>,
    origins: Vec<(Uuid, Vec<u8>)>,
}

/// A remark on its way.
#[derive(Clone, Debug)]
pub struct Traveller {
    id: Uuid,
    /// `None` until it is made.
    number: Option<i64>,
    design_id: Uuid,
    on: On,
    tag: String,
    at_mm: Option<f64>,
    /// Ordinal of the revision it has reached.
    reached: i64,
    origin: Option<Origin>,
    carried: Option<Carried>,
}

/// A submit's carrying, prepared before its transaction.
pub struct Ahead {
    design_id: Uuid,
    /// The revision it is carried from.
    from: i64,
    /// Greatest number of the remarks that were carried.
    upto: i64,
    /// `None`: there was nothing to carry yet.
    step: Option<Arc<Step>>,
    rows: Rows,
}

/// The engine numbers designs of a chain; here these numbers are ordinals.
fn number_of(ordinal: i64) -> usize {
    usize::try_from(ordinal).unwrap_or_default()
}

/// How a remark stands, from its row.
///
/// # Errors
/// [`AppError::Internal`] for a row that this server does not know.
pub fn read(row: &Standing) -> AppResult<Carried> {
    serde_json::from_slice(&row.detail).map_err(|error| AppError::internal(format!("stored standing: {error}")))
}

impl Traveller {
    /// A remark that is just being made.
    pub fn new(id: Uuid, design_id: Uuid, ordinal: i64, origin: Origin) -> Self {
        Self {
            id,
            number: None,
            design_id,
            on: origin.on,
            tag: origin.tag.clone(),
            at_mm: origin.at_mm,
            reached: ordinal,
            carried: Some(Carried::made(&origin, number_of(ordinal))),
            origin: Some(origin),
        }
    }

    fn of(placed: &Placed, design_id: Uuid, reached: i64) -> AppResult<Self> {
        let kind = PlaceKind::of_word(&placed.place_kind)
            .ok_or_else(|| AppError::internal(format!("stored place `{}` is not known", placed.place_kind)))?;
        Ok(Self {
            id: placed.id,
            number: Some(placed.number),
            design_id,
            on: kind.on(),
            tag: placed.place_tag.clone(),
            at_mm: placed.at_mm,
            reached,
            origin: None,
            carried: None,
        })
    }

    /// Says what it was made on, if that is not known yet; the design is that of the revision it was made on.
    fn begin(&mut self, design: &Design, rows: &mut Rows) -> AppResult<()> {
        if self.origin.is_some() {
            return Ok(());
        }
        let missing = || AppError::internal(format!("remark {} stands on what its revision does not have", self.id));
        let origin = Origin::of(design, self.on, &self.tag, self.at_mm).ok_or_else(missing)?;
        rows.origins.push((self.id, canonical_json(&origin).into_bytes()));
        self.carried = Some(Carried::made(&origin, number_of(self.reached)));
        self.origin = Some(origin);
        Ok(())
    }

    /// Goes on by a step that leads to the revision of this ordinal.
    fn go(&mut self, step: &Step, ordinal: i64, rows: &mut Rows) -> AppResult<()> {
        self.reached = ordinal;
        let (Some(origin), Some(carried)) = (&self.origin, &self.carried) else {
            return Err(AppError::internal("a remark is carried that never began"));
        };
        let next = step.carry(origin, carried, number_of(ordinal));
        if next != *carried {
            rows.standings.push(Standing {
                remark_id: self.id,
                ordinal,
                design_id: self.design_id,
                what: next.standing.what.word().to_owned(),
                tag: next.standing.tag.clone(),
                at_mm: next.standing.at_mm,
                detail: canonical_json(&next).into_bytes(),
                number: self.number,
            });
            self.carried = Some(next);
        }
        Ok(())
    }
}

impl Rows {
    /// What a new remark was made on.
    pub fn begun(traveller: &Traveller) -> Self {
        let body = traveller.origin.iter().map(|origin| (traveller.id, canonical_json(origin).into_bytes()));
        Self { standings: Vec::new(), origins: body.collect() }
    }

    /// Those of a new remark, once its number is known.
    #[must_use]
    pub fn numbered(mut self, number: i64) -> Self {
        self.standings.iter_mut().for_each(|row| row.number = Some(number));
        self
    }

    /// Writes them.
    ///
    /// # Errors
    /// Those of the store.
    pub async fn write(self, tx: &WriteTx) -> AppResult<()> {
        standings::insert_origins(tx, self.origins).await?;
        Ok(standings::insert(tx, self.standings).await?)
    }
}

impl App {
    /// The design of a revision.
    async fn design_at<C: Connection>(&self, conn: &C, design_id: Uuid, ordinal: i64) -> AppResult<Arc<Design>> {
        let revision = revisions::by_ordinal(conn, design_id, ordinal).await?;
        let missing = || AppError::internal(format!("design {design_id} has no revision {ordinal}"));
        let revisions::Revision { body_format, body, .. } = revision.ok_or_else(missing)?;
        self.apart(move || content::read(body_format, &body)).await?.map(Arc::new)
    }

    async fn step(&self, before: Arc<Design>, after: Arc<Design>) -> AppResult<Arc<Step>> {
        self.apart(move || Arc::new(Step::between(&before, &after))).await
    }

    /// Runs what takes its time on a thread for such work, so many at a time.
    async fn apart<T: Send + 'static>(&self, work: impl FnOnce() -> T + Send + 'static) -> AppResult<T> {
        let permit = Arc::clone(&self.readers).acquire_owned().await.map_err(|_| AppError::ShuttingDown)?;
        let work = move || {
            let _permit = permit;
            work()
        };
        tokio::task::spawn_blocking(work).await.map_err(AppError::internal)
    }

    /// Takes remarks of one design along its revisions to the one of this ordinal, one revision in memory at a time.
    ///
    /// # Errors
    /// Those of the store; [`AppError::Internal`] for a body that can't be read.
    pub async fn travel<C: Connection>(
        &self,
        conn: &C,
        travellers: &mut [Traveller],
        to: i64,
        rows: &mut Rows,
    ) -> AppResult<()> {
        let waits = |one: &&Traveller| one.reached < to || one.origin.is_none();
        let first = travellers.iter().filter(waits).map(|one| (one.reached, one.design_id)).min();
        let Some((mut ordinal, design_id)) = first else { return Ok(()) };
        let mut before = self.design_at(conn, design_id, ordinal).await?;
        loop {
            for one in travellers.iter_mut().filter(|one| one.reached == ordinal) {
                one.begin(&before, rows)?;
            }
            if ordinal >= to {
                return Ok(());
            }
            let after = self.design_at(conn, design_id, ordinal + 1).await?;
            let step = self.step(Arc::clone(&before), Arc::clone(&after)).await?;
            for one in travellers.iter_mut().filter(|one| one.reached == ordinal) {
                one.go(&step, ordinal + 1, rows)?;
            }
            (before, ordinal) = (after, ordinal + 1);
        }
    }

    /// Brings remarks to the revision of this ordinal that were left behind it, and gives those of which the step is not
    /// sure to change nothing; with no step, none.
    async fn ready<C: Connection>(
        &self,
        conn: &C,
        design_id: Uuid,
        placed: &[Placed],
        at: i64,
        step: Option<&Step>,
        rows: &mut Rows,
    ) -> AppResult<Vec<Traveller>> {
        let carried_to = standings::carried_to(conn, design_id).await?.min(at);
        let ids: Vec<Uuid> = placed.iter().map(|one| one.id).collect();
        let begun = standings::with_origin(conn, ids.clone()).await?;
        let stand = standings::latest(conn, ids, at).await?;
        let mut ready = Vec::new();
        for one in placed.iter().filter(|one| one.ordinal <= at) {
            let known = begun.contains(&one.id);
            let row = stand.get(&one.id).filter(|_| known);
            // Carried further than its design where it was made on an older revision meanwhile.
            let further = row.map_or(carried_to, |row| row.ordinal.max(carried_to));
            let reached = if known { one.ordinal.max(further) } else { one.ordinal };
            let traveller = Traveller::of(one, design_id, reached)?;
            let tag = row.map_or(one.place_tag.as_str(), |row| row.tag.as_str());
            let gone = row.is_some_and(|row| row.what == What::Gone.word());
            let stays = step.is_none_or(|step| step.leaves(traveller.on, tag, gone, &one.place_tag));
            if !known || reached < at || !stays {
                ready.push(traveller);
            }
        }
        let mut origins = standings::origins(conn, ready.iter().map(|one| one.id).collect()).await?;
        let ordinals: BTreeMap<Uuid, i64> = placed.iter().map(|one| (one.id, one.ordinal)).collect();
        for one in &mut ready {
            let Some(body) = origins.remove(&one.id) else { continue };
            let origin: Origin = serde_json::from_slice(&body)
                .map_err(|error| AppError::internal(format!("stored origin of a remark: {error}")))?;
            let made = ordinals.get(&one.id).copied().unwrap_or(one.reached);
            one.carried = Some(match stand.get(&one.id) {
                Some(row) => read(row)?,
                None => Carried::made(&origin, number_of(made)),
            });
            one.origin = Some(origin);
        }
        self.travel(conn, &mut ready, at, rows).await?;
        Ok(ready)
    }

    /// Carries the remarks with greater numbers than `after` by a step from the revision of one ordinal to the next; gives
    /// the greatest number that was carried.
    async fn carry_all<C: Connection>(
        &self,
        conn: &C,
        design_id: Uuid,
        mut after: i64,
        from: i64,
        step: &Step,
        rows: &mut Rows,
    ) -> AppResult<i64> {
        loop {
            let placed = standings::placed(conn, design_id, after, AT_ONCE).await?;
            let Some(last) = placed.last().map(|last| last.number) else { return Ok(after) };
            for mut one in self.ready(conn, design_id, &placed, from, Some(step), rows).await? {
                one.go(step, from + 1, rows)?;
            }
            after = last;
        }
    }

    /// Carries all remarks there are to a revision that is about to be submitted, without writing anything.
    ///
    /// # Errors
    /// Those of the store; [`AppError::Internal`] for a body that can't be read.
    pub async fn carry_ahead(self: &Arc<Self>, group_id: Uuid, name: &str, after: &Design) -> AppResult<Option<Ahead>> {
        let conn = self.store.read();
        let Some(design) = designs::by_name(conn, group_id, name).await? else { return Ok(None) };
        let (design_id, from) = (design.id, design.latest_ordinal);
        let mut ahead = Ahead { design_id, from, upto: 0, step: None, rows: Rows::default() };
        // Without remarks or without a revision there is nothing to reckon.
        if design.latest_remark > 0 && from > 0 {
            if standings::carried_to(conn, design_id).await? < from {
                self.catch_up(design_id).await?;
            }
            let before = self.design_at(conn, design_id, from).await?;
            let step = self.step(before, Arc::new(after.clone())).await?;
            ahead.upto = self.carry_all(conn, design_id, 0, from, &step, &mut ahead.rows).await?;
            ahead.step = Some(step);
        }
        Ok(Some(ahead))
    }

    /// Writes how the remarks stand on the revision that this transaction writes, which is `after`. The design's row is
    /// locked: of remarks made meanwhile, those that came before the lock are carried here, those that come after it see
    /// this revision and carry themselves.
    ///
    /// # Errors
    /// Those of the store; [`AppError::Internal`] for a body that can't be read.
    pub async fn carry_within(
        &self,
        tx: &WriteTx,
        design: &designs::Design,
        ahead: Option<Ahead>,
        ordinal: i64,
        after: &Design,
    ) -> AppResult<()> {
        let from = ordinal - 1;
        // What was prepared for another step is of no use.
        let ahead = ahead.filter(|ahead| ahead.design_id == design.id && ahead.from == from);
        let (upto, step, mut rows) = match ahead {
            Some(Ahead { upto, step, rows, .. }) => (upto, step, rows),
            None => (0, None, Rows::default()),
        };
        if from > 0 && design.latest_remark > upto {
            let step = match step {
                Some(step) => step,
                None => self.step(self.design_at(tx, design.id, from).await?, Arc::new(after.clone())).await?,
            };
            self.carry_all(tx, design.id, upto, from, &step, &mut rows).await?;
        }
        rows.write(tx).await?;
        Ok(standings::set_carried(tx, design.id, ordinal).await?)
    }

    /// Carries remarks to the latest revision that an earlier release left behind. Once done, this is one look.
    ///
    /// # Errors
    /// Those of the store; [`AppError::Internal`] for a body that can't be read.
    pub async fn catch_up(self: &Arc<Self>, design_id: Uuid) -> AppResult<()> {
        let app = Arc::clone(self);
        let work = async move {
            for _ in 0..TRIES {
                if app.try_to_catch_up(design_id).await? {
                    return Ok(());
                }
            }
            Err(AppError::TooMany {
                what: "remarks are being carried to new revisions",
                retry_after: std::time::Duration::from_secs(1),
            })
        };
        self.finish(work).await
    }

    /// False where a submit came in between.
    async fn try_to_catch_up(&self, design_id: Uuid) -> AppResult<bool> {
        let conn = self.store.read();
        let missing = || AppError::not_found("design", "");
        let to = designs::by_id(conn, design_id).await?.ok_or_else(missing)?.latest_ordinal;
        let mut after = 0;
        loop {
            let placed = standings::placed(conn, design_id, after, AT_ONCE).await?;
            let Some(last) = placed.last().map(|last| last.number) else { break };
            let mut rows = Rows::default();
            self.ready(conn, design_id, &placed, to, None, &mut rows).await?;
            // True at any time: it follows from revisions, which never change.
            let tx = self.store.write_tx().await?;
            rows.write(&tx).await?;
            self.store.commit(tx).await?;
            after = last;
        }
        let tx = self.store.write_tx().await?;
        let design = designs::by_id_for_update(&tx, design_id).await?.ok_or_else(missing)?;
        if design.latest_ordinal != to {
            return Ok(false);
        }
        standings::set_carried(&tx, design_id, to).await?;
        self.store.commit(tx).await?;
        Ok(true)
    }
}
