//! Counts of what an account has done as a reviewer for groups it is not in.

use super::entity::{dispositions, remark_entries, remarks, take_ups};
use super::{Connection, StoreResult};
use sea_orm::sea_query::{Expr, ExprTrait, Query};
use sea_orm::{ColumnTrait, EntityTrait, QueryFilter, QuerySelect, Select};
use uuid::Uuid;

/// The counts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Notices taken up.
    pub taken_up: i64,
    /// Designs of others concluded on.
    pub concluded: i64,
    /// Snags raised on them.
    pub snags: i64,
    /// Of these, cleared on a later revision than they were raised on.
    pub snags_mended: i64,
}

/// The counts of one account.
pub async fn of_account<C: Connection>(conn: &C, account_id: Uuid) -> StoreResult<Counts> {
    let taken_up: Option<i64> = take_ups::Entity::find()
        .select_only()
        .column_as(take_ups::Column::Id.count(), "n")
        .filter(take_ups::Column::AccountId.eq(account_id))
        .into_tuple()
        .one(conn)
        .await?;
    let concluded: Option<i64> = dispositions::Entity::find()
        .select_only()
        .column_as(Expr::col(dispositions::Column::DesignId).count_distinct(), "n")
        .filter(dispositions::Column::AccountId.eq(account_id))
        .filter(dispositions::Column::TakeUpId.is_not_null())
        .into_tuple()
        .one(conn)
        .await?;
    // The act that cleared it stands on a later revision than the remark.
    let later = Query::select()
        .expr(Expr::val(1))
        .from(remark_entries::Entity)
        .and_where(
            Expr::col((remark_entries::Entity, remark_entries::Column::RemarkId))
                .equals((remarks::Entity, remarks::Column::Id)),
        )
        .and_where(
            Expr::col((remark_entries::Entity, remark_entries::Column::Ordinal))
                .gt(Expr::col((remarks::Entity, remarks::Column::Ordinal))),
        )
        .to_owned();
    let mended = snags(account_id).filter(remarks::Column::State.eq("cleared")).filter(Expr::exists(later));
    Ok(Counts {
        taken_up: taken_up.unwrap_or(0),
        concluded: concluded.unwrap_or(0),
        snags: count(conn, snags(account_id)).await?,
        snags_mended: count(conn, mended).await?,
    })
}

fn snags(account_id: Uuid) -> Select<remarks::Entity> {
    remarks::Entity::find()
        .filter(remarks::Column::AuthorId.eq(account_id))
        .filter(remarks::Column::TakeUpId.is_not_null())
        .filter(remarks::Column::Kind.eq("snag"))
}

async fn count<C: Connection>(conn: &C, query: Select<remarks::Entity>) -> StoreResult<i64> {
    let count: Option<i64> =
        query.select_only().column_as(remarks::Column::Id.count(), "n").into_tuple().one(conn).await?;
    Ok(count.unwrap_or(0))
}
