//! What happened, numbered densely within each stream in the order of commits.

use super::entity::{events, streams};
use super::{Connection, StoreError, StoreResult, WriteTx};
use sea_orm::sea_query::{Expr, ExprTrait};
use sea_orm::{ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter, QueryOrder, QuerySelect};
use std::collections::BTreeMap;
use uuid::Uuid;

pub use events::Model as Event;

/// Id of the noticeboard's stream. Being the least of all ids, it is locked before any group's.
pub const NOTICEBOARD: Uuid = Uuid::nil();
/// Streams pruned in one transaction: the rest waits for the next.
const PRUNED_AT_ONCE: u64 = 500;
/// Streams asked for in one statement.
const ASKED_AT_ONCE: usize = 500;

/// Something that happened, before it has its number.
#[derive(Clone, Copy, Debug, Default)]
pub struct News {
    /// Which kind, e.g. `revision`.
    pub kind: &'static str,
    /// Who did it.
    pub actor_id: Option<Uuid>,
    /// On which design.
    pub design_id: Option<Uuid>,
    /// On which revision of it.
    pub ordinal: Option<i64>,
    /// What else it is about: a remark, an account.
    pub subject_id: Option<Uuid>,
}

/// Opens a stream; its id is its group's.
pub async fn open_stream<C: Connection>(conn: &C, id: Uuid) -> StoreResult<()> {
    let row = streams::ActiveModel { id: Set(id), head: Set(0) };
    streams::Entity::insert(row).exec_without_returning(conn).await?;
    Ok(())
}

/// Takes the next number of a stream and writes the event under it. Must be the last statement of a transaction: from
/// here to the commit nobody else can write to this stream, which is what makes number order commit order. For two
/// streams in one transaction see [`append_all`].
pub async fn append(tx: &WriteTx, stream_id: Uuid, news: News, now: i64) -> StoreResult<i64> {
    tx.note_stream(stream_id);
    let rows = streams::Entity::update_many()
        .col_expr(streams::Column::Head, Expr::col(streams::Column::Head).add(1))
        .filter(streams::Column::Id.eq(stream_id))
        .exec_with_returning(tx)
        .await?;
    let Some(stream) = rows.into_iter().next() else {
        return Err(StoreError::Unreadable { what: "stream", cause: format!("there is none for group {stream_id}") });
    };
    let News { kind, actor_id, design_id, ordinal, subject_id } = news;
    let event = events::Model {
        stream_id,
        number: stream.head,
        kind: kind.to_owned(),
        actor_id,
        design_id,
        ordinal,
        subject_id,
        created_at: now,
    };
    events::Entity::insert(events::ActiveModel::from(event)).exec_without_returning(tx).await?;
    Ok(stream.head)
}

/// Appends to several streams, a group's and the noticeboard's, in the order of their ids, so that no two transactions
/// wait for each other; events of one stream keep their order.
#[cfg_attr(not(test), expect(dead_code, reason = "for notices, which are news of the group and of the noticeboard"))]
pub async fn append_all(tx: &WriteTx, mut news: Vec<(Uuid, News)>, now: i64) -> StoreResult<()> {
    news.sort_by_key(|(stream_id, _)| *stream_id);
    for (stream_id, news) in news {
        append(tx, stream_id, news, now).await?;
    }
    Ok(())
}

/// The last number of each of these streams; 0 where nothing has happened yet.
pub async fn heads<C: Connection>(conn: &C, ids: Vec<Uuid>) -> StoreResult<BTreeMap<Uuid, i64>> {
    let mut heads = BTreeMap::new();
    for some in ids.chunks(ASKED_AT_ONCE) {
        let rows = streams::Entity::find().filter(streams::Column::Id.is_in(some.iter().copied())).all(conn).await?;
        heads.extend(rows.into_iter().map(|row| (row.id, row.head)));
    }
    Ok(heads)
}

fn of_stream(id: Uuid) -> sea_orm::Select<events::Entity> {
    events::Entity::find().filter(events::Column::StreamId.eq(id))
}

/// Events of a stream after a number, oldest first.
pub async fn after<C: Connection>(conn: &C, stream_id: Uuid, number: i64, limit: u64) -> StoreResult<Vec<Event>> {
    let query = of_stream(stream_id).filter(events::Column::Number.gt(number));
    Ok(query.order_by_asc(events::Column::Number).limit(limit).all(conn).await?)
}

/// The last events of a stream up to a number, newest first.
pub async fn latest<C: Connection>(conn: &C, stream_id: Uuid, up_to: i64, limit: u64) -> StoreResult<Vec<Event>> {
    let query = of_stream(stream_id).filter(events::Column::Number.lte(up_to));
    Ok(query.order_by_desc(events::Column::Number).limit(limit).all(conn).await?)
}

/// The first number that is kept of each of these streams; those of which nothing is kept are left out.
pub async fn first_kept<C: Connection>(conn: &C, ids: Vec<Uuid>) -> StoreResult<BTreeMap<Uuid, i64>> {
    if ids.is_empty() {
        return Ok(BTreeMap::new());
    }
    let rows: Vec<(Uuid, i64)> = events::Entity::find()
        .select_only()
        .column(events::Column::StreamId)
        .column_as(events::Column::Number.min(), "first")
        .filter(events::Column::StreamId.is_in(ids))
        .group_by(events::Column::StreamId)
        .into_tuple()
        .all(conn)
        .await?;
    Ok(rows.into_iter().collect())
}

/// The first number of a stream that was written at or after an instant.
pub async fn first_since<C: Connection>(conn: &C, stream_id: Uuid, since: i64) -> StoreResult<Option<i64>> {
    let first = of_stream(stream_id)
        .filter(events::Column::CreatedAt.gte(since))
        .order_by_asc(events::Column::Number)
        .limit(1)
        .one(conn)
        .await?;
    Ok(first.map(|event| event.number))
}

/// Takes out what is older than an instant; gives how many events. Of each stream only its beginning goes, up to the
/// first event that is young enough, so that what is left has no holes. Heads stay: numbers are never given again.
pub async fn prune(tx: &WriteTx, before: i64) -> StoreResult<u64> {
    let streams: Vec<Uuid> = events::Entity::find()
        .select_only()
        .column(events::Column::StreamId)
        .filter(events::Column::CreatedAt.lt(before))
        .group_by(events::Column::StreamId)
        .order_by_asc(events::Column::StreamId)
        .limit(PRUNED_AT_ONCE)
        .into_tuple()
        .all(tx)
        .await?;
    let mut pruned = 0;
    for id in streams {
        let first = first_since(tx, id, before).await?.unwrap_or(i64::MAX);
        let old = events::Entity::delete_many()
            .filter(events::Column::StreamId.eq(id))
            .filter(events::Column::Number.lt(first));
        pruned += old.exec(tx).await?.rows_affected;
    }
    Ok(pruned)
}
