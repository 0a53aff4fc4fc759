//! Revisions and the settings they were checked under. Written once, never changed.

use super::entity::{revisions, settings};
use super::{Connection, StoreResult};
use sea_orm::sea_query::OnConflict;
use sea_orm::{
    ActiveValue::Set, ColumnTrait, Condition, EntityTrait, FromQueryResult, QueryFilter, QueryOrder, QuerySelect,
};
use uuid::Uuid;

pub use revisions::Model as Revision;

/// What a revision is, without its body and text.
#[derive(Clone, Debug, PartialEq, Eq, FromQueryResult)]
pub struct Heading {
    pub id: Uuid,
    pub design_id: Uuid,
    pub ordinal: i64,
    pub content_id: Vec<u8>,
    pub author_id: Uuid,
    pub note: String,
    pub worked_from: Option<i64>,
    pub survey_id: Uuid,
    pub settings_id: Vec<u8>,
    pub engine_fingerprint: String,
    pub created_at: i64,
    pub vehicle_survey_id: Option<Uuid>,
}

impl From<&Revision> for Heading {
    fn from(row: &Revision) -> Self {
        Self {
            id: row.id,
            design_id: row.design_id,
            ordinal: row.ordinal,
            content_id: row.content_id.clone(),
            author_id: row.author_id,
            note: row.note.clone(),
            worked_from: row.worked_from,
            survey_id: row.survey_id,
            settings_id: row.settings_id.clone(),
            engine_fingerprint: row.engine_fingerprint.clone(),
            created_at: row.created_at,
            vehicle_survey_id: row.vehicle_survey_id,
        }
    }
}

fn headings() -> sea_orm::Select<revisions::Entity> {
    use revisions::Column as C;
    revisions::Entity::find().select_only().columns([
        C::Id,
        C::DesignId,
        C::Ordinal,
        C::ContentId,
        C::AuthorId,
        C::Note,
        C::WorkedFrom,
        C::SurveyId,
        C::SettingsId,
        C::EngineFingerprint,
        C::CreatedAt,
        C::VehicleSurveyId,
    ])
}

/// Writes a revision.
///
/// # Errors
/// [`StoreError::Taken`](super::StoreError::Taken) where the design has one of this ordinal.
pub async fn insert<C: Connection>(conn: &C, revision: Revision) -> StoreResult<()> {
    revisions::Entity::insert(revisions::ActiveModel::from(revision)).exec_without_returning(conn).await?;
    Ok(())
}

/// The revision of this ordinal, whole.
pub async fn by_ordinal<C: Connection>(conn: &C, design_id: Uuid, ordinal: i64) -> StoreResult<Option<Revision>> {
    let query = revisions::Entity::find()
        .filter(revisions::Column::DesignId.eq(design_id))
        .filter(revisions::Column::Ordinal.eq(ordinal));
    Ok(query.one(conn).await?)
}

/// The revision of this id, whole.
pub async fn by_id<C: Connection>(conn: &C, id: Uuid) -> StoreResult<Option<Revision>> {
    Ok(revisions::Entity::find_by_id(id).one(conn).await?)
}

/// The heading of the revision of this ordinal.
pub async fn heading<C: Connection>(conn: &C, design_id: Uuid, ordinal: i64) -> StoreResult<Option<Heading>> {
    let query = headings()
        .filter(revisions::Column::DesignId.eq(design_id))
        .filter(revisions::Column::Ordinal.eq(ordinal))
        .into_model::<Heading>();
    Ok(query.one(conn).await?)
}

/// True where an account has submitted a revision of a design.
pub async fn any_by<C: Connection>(conn: &C, design_id: Uuid, account_id: Uuid) -> StoreResult<bool> {
    let query = revisions::Entity::find()
        .select_only()
        .column(revisions::Column::Ordinal)
        .filter(revisions::Column::DesignId.eq(design_id))
        .filter(revisions::Column::AuthorId.eq(account_id))
        .into_tuple::<i64>();
    Ok(query.one(conn).await?.is_some())
}

/// True where one of these designs has a revision of this content.
pub async fn any_of_content<C: Connection>(
    conn: &C,
    design_ids: impl IntoIterator<Item = Uuid>,
    content_id: &[u8],
) -> StoreResult<bool> {
    let query = revisions::Entity::find()
        .select_only()
        .column(revisions::Column::Ordinal)
        .filter(revisions::Column::ContentId.eq(content_id.to_vec()))
        .filter(revisions::Column::DesignId.is_in(design_ids))
        .into_tuple::<i64>();
    Ok(query.one(conn).await?.is_some())
}

/// Headings of a design's revisions, newest first, none before `from`, older than `before`.
pub async fn page<C: Connection>(
    conn: &C,
    design_id: Uuid,
    from: i64,
    before: Option<i64>,
    limit: u64,
) -> StoreResult<Vec<Heading>> {
    let mut query =
        headings().filter(revisions::Column::DesignId.eq(design_id)).filter(revisions::Column::Ordinal.gte(from));
    if let Some(before) = before {
        query = query.filter(revisions::Column::Ordinal.lt(before));
    }
    let query = query.order_by_desc(revisions::Column::Ordinal).limit(limit).into_model::<Heading>();
    Ok(query.all(conn).await?)
}

/// Headings of the given revisions, each by design and ordinal; in no order.
pub async fn latest<C: Connection>(conn: &C, wanted: &[(Uuid, i64)]) -> StoreResult<Vec<Heading>> {
    if wanted.is_empty() {
        return Ok(Vec::new());
    }
    let any = wanted.iter().fold(Condition::any(), |any, (design_id, ordinal)| {
        any.add(
            Condition::all()
                .add(revisions::Column::DesignId.eq(*design_id))
                .add(revisions::Column::Ordinal.eq(*ordinal)),
        )
    });
    Ok(headings().filter(any).into_model::<Heading>().all(conn).await?)
}

/// Writes settings unless they are there.
pub async fn put_settings<C: Connection>(conn: &C, id: &[u8], body: &[u8], now: i64) -> StoreResult<()> {
    if settings::Entity::find_by_id(id.to_vec()).one(conn).await?.is_some() {
        return Ok(());
    }
    let row = settings::ActiveModel { id: Set(id.to_vec()), body: Set(body.to_vec()), created_at: Set(now) };
    let conflict = OnConflict::column(settings::Column::Id).do_nothing().to_owned();
    settings::Entity::insert(row).on_conflict(conflict).exec_without_returning(conn).await?;
    Ok(())
}
