//! What happened, numbered densely within each stream in the order of commits.

use super::entity::{events, streams};
use super::{Connection, StoreError, StoreResult};
use sea_orm::sea_query::{Expr, ExprTrait};
use sea_orm::{ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter};
use uuid::Uuid;

/// The stream of the noticeboard. Its id is before every group's: of two streams written in one transaction it comes first.
pub const NOTICEBOARD: Uuid = Uuid::nil();

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
/// here to the commit nobody else can write to this stream, which is what makes number order commit order.
pub async fn append<C: Connection>(conn: &C, stream_id: Uuid, news: News, now: i64) -> StoreResult<i64> {
    let rows = streams::Entity::update_many()
        .col_expr(streams::Column::Head, Expr::col(streams::Column::Head).add(1))
        .filter(streams::Column::Id.eq(stream_id))
        .exec_with_returning(conn)
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
    events::Entity::insert(events::ActiveModel::from(event)).exec_without_returning(conn).await?;
    Ok(stream.head)
}
