//! Notices on the noticeboard and the skills they ask for.

use super::entity::{notice_skills, notices};
use super::{Connection, StoreResult};
use sea_orm::sea_query::{Expr, ExprTrait};
use sea_orm::{ColumnTrait, Condition, EntityTrait, QueryFilter, QueryOrder, QuerySelect, QueryTrait, Select};
use std::collections::BTreeMap;
use uuid::Uuid;

pub use notices::Model as Notice;

/// Hangs for all to see.
pub const HANGING: &str = "hanging";

/// Which hanging notices are wanted.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Wanted {
    /// Only for this vehicle.
    pub vehicle: Option<String>,
    /// Only for this kind of frame.
    pub frame_kind: Option<String>,
    /// Only those that ask for this skill.
    pub skill: Option<String>,
    /// Only those hung at this instant or later.
    pub hung_from: Option<i64>,
    /// Only those hung before this instant.
    pub hung_before: Option<i64>,
    /// Only those after this one, by instant and id.
    pub after: Option<(i64, Uuid)>,
}

/// Writes a notice with its skills.
pub async fn insert<C: Connection>(conn: &C, notice: Notice, skills: &[String]) -> StoreResult<()> {
    let (notice_id, hung_at) = (notice.id, notice.hung_at);
    notices::Entity::insert(notices::ActiveModel::from(notice)).exec_without_returning(conn).await?;
    for skill in skills {
        let row = notice_skills::Model { notice_id, skill: skill.clone(), hung_at };
        notice_skills::Entity::insert(notice_skills::ActiveModel::from(row)).exec_without_returning(conn).await?;
    }
    Ok(())
}

/// The notice of this id.
pub async fn by_id<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Option<Notice>> {
    Ok(notices::Entity::find_by_id(id).one(conn).await?)
}

/// The notice of this code.
pub async fn by_code<C: Connection>(conn: &C, code: &str) -> StoreResult<Option<Notice>> {
    Ok(notices::Entity::find().filter(notices::Column::Code.eq(code)).one(conn).await?)
}

/// Locks a notice for the transaction and gives it as it is now.
pub async fn for_update<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Option<Notice>> {
    Ok(notices::Entity::find_by_id(id).lock_exclusive().one(conn).await?)
}

/// How many notices of a group hang now.
pub async fn count_hanging<C: Connection>(conn: &C, group_id: Uuid, now: i64) -> StoreResult<i64> {
    let count: Option<i64> = hanging(now)
        .select_only()
        .column_as(notices::Column::Id.count(), "n")
        .filter(notices::Column::GroupId.eq(group_id))
        .into_tuple()
        .one(conn)
        .await?;
    Ok(count.unwrap_or(0))
}

/// The least ordinal of a design's hanging notices; `None`: none hangs.
pub async fn least_ordinal<C: Connection>(conn: &C, design_id: Uuid, now: i64) -> StoreResult<Option<i64>> {
    let query = hanging(now)
        .select_only()
        .column(notices::Column::Ordinal)
        .filter(notices::Column::DesignId.eq(design_id))
        .order_by_asc(notices::Column::Ordinal)
        .order_by_asc(notices::Column::Id)
        .into_tuple();
    Ok(query.one(conn).await?)
}

fn hanging(now: i64) -> Select<notices::Entity> {
    // Nearly all that hang are not over yet: written so that no index by the end is taken for it, which would read them all
    // and sort them, where another gives them in their order.
    let not_over = Expr::col((notices::Entity, notices::Column::EndsAt)).add(0).gt(now);
    notices::Entity::find().filter(notices::Column::State.eq(HANGING)).filter(not_over)
}

/// Notices that hang now, oldest first.
pub async fn page<C: Connection>(conn: &C, wanted: &Wanted, now: i64, limit: u64) -> StoreResult<Vec<Notice>> {
    use notices::Column as N;
    let mut query = hanging(now);
    if let Some(vehicle) = &wanted.vehicle {
        query = query.filter(N::Vehicle.eq(vehicle));
    }
    if let Some(kind) = &wanted.frame_kind {
        query = query.filter(N::FrameKind.eq(kind));
    }
    let (mut hung_at, mut id) = (Expr::col((notices::Entity, N::HungAt)), Expr::col((notices::Entity, N::Id)));
    if let Some(skill) = &wanted.skill {
        use notice_skills::Column as S;
        let of_notice = Expr::col((notice_skills::Entity, S::NoticeId)).equals((notices::Entity, N::Id));
        if wanted.vehicle.is_none() && wanted.frame_kind.is_none() {
            // The skill's own index gives them in their order.
            (hung_at, id) =
                (Expr::col((notice_skills::Entity, S::HungAt)), Expr::col((notice_skills::Entity, S::NoticeId)));
            QuerySelect::query(&mut query).inner_join(notice_skills::Entity, of_notice);
            query = query.filter(S::Skill.eq(skill));
        } else {
            // The other index does, and each is asked for the skill: all of a skill would be read for each page.
            let its = notice_skills::Entity::find().select_only().column(S::NoticeId);
            query = query.filter(Expr::exists(its.filter(of_notice).filter(S::Skill.eq(skill)).into_query()));
        }
    }
    if let Some(from) = wanted.hung_from {
        query = query.filter(hung_at.clone().gte(from));
    }
    if let Some(before) = wanted.hung_before {
        query = query.filter(hung_at.clone().lt(before));
    }
    if let Some((at, last)) = wanted.after {
        let same = Condition::all().add(hung_at.clone().eq(at)).add(id.clone().gt(last));
        // Repeated in a form that an index can begin at.
        query = query.filter(hung_at.clone().gte(at)).filter(Condition::any().add(hung_at.clone().gt(at)).add(same));
    }
    Ok(query.order_by_asc(hung_at).order_by_asc(id).limit(limit).all(conn).await?)
}

/// Notices of a group, whatever became of them, newest first, older than `before`.
pub async fn page_of_group<C: Connection>(
    conn: &C,
    group_id: Uuid,
    before: Option<Uuid>,
    limit: u64,
) -> StoreResult<Vec<Notice>> {
    let mut query = notices::Entity::find().filter(notices::Column::GroupId.eq(group_id));
    if let Some(before) = before {
        query = query.filter(notices::Column::Id.lt(before));
    }
    Ok(query.order_by_desc(notices::Column::Id).limit(limit).all(conn).await?)
}

/// The skills that notices ask for, by notice, in the order of their letters.
pub async fn skills<C: Connection>(conn: &C, ids: Vec<Uuid>) -> StoreResult<BTreeMap<Uuid, Vec<String>>> {
    let mut by_notice: BTreeMap<Uuid, Vec<String>> = BTreeMap::new();
    if ids.is_empty() {
        return Ok(by_notice);
    }
    let query = notice_skills::Entity::find()
        .filter(notice_skills::Column::NoticeId.is_in(ids))
        .order_by_asc(notice_skills::Column::NoticeId)
        .order_by_asc(notice_skills::Column::Skill);
    for row in query.all(conn).await? {
        by_notice.entry(row.notice_id).or_default().push(row.skill);
    }
    Ok(by_notice)
}

/// Ends a notice that hangs.
pub async fn end<C: Connection>(conn: &C, id: Uuid, state: &str, now: i64) -> StoreResult<()> {
    notices::Entity::update_many()
        .col_expr(notices::Column::State, Expr::value(state))
        .col_expr(notices::Column::EndedAt, Expr::value(now))
        .filter(notices::Column::Id.eq(id))
        .exec(conn)
        .await?;
    Ok(())
}

/// Changes how many have taken a notice up; under its row's lock.
pub async fn add_takers<C: Connection>(conn: &C, id: Uuid, more: i64) -> StoreResult<()> {
    notices::Entity::update_many()
        .col_expr(notices::Column::Takers, Expr::col(notices::Column::Takers).add(more))
        .filter(notices::Column::Id.eq(id))
        .exec(conn)
        .await?;
    Ok(())
}

/// Notices whose time has run out and that still count as hanging, the longest over first.
pub async fn run_out<C: Connection>(conn: &C, now: i64, limit: u64) -> StoreResult<Vec<Notice>> {
    let query = notices::Entity::find()
        .filter(notices::Column::State.eq(HANGING))
        .filter(notices::Column::EndsAt.lte(now))
        .order_by_asc(notices::Column::EndsAt)
        .order_by_asc(notices::Column::Id);
    Ok(query.limit(limit).all(conn).await?)
}
