//! Who beyond the crew may see a design: its visibility, notices on the noticeboard, and who took one up.

use crate::columns::{add, id, index, instant, optional, reference, text, whole};
use sea_orm_migration::prelude::*;

/// See the file's head.
#[derive(DeriveMigrationName)]
pub struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let mut visibility = text(manager, "visibility");
        visibility.default("group");
        add(manager, "designs", visibility).await?;
        notices(manager).await?;
        take_ups(manager).await?;
        // Through which taking up a remark was made; null: by one of the crew. SQLite cannot add a reference to a table
        // that is there, so neither database has one here.
        let made_through = optional(id("take_up_id"));
        add(manager, "remarks", made_through).await?;
        index(manager, "remarks", &["take_up_id"], false).await
    }

    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }
}

async fn notices(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // `code` is short enough to be typed. `takers` counts those who have it taken up now; it changes under this row's lock.
    let notices = Table::create()
        .table("notices")
        .col(id("id").primary_key())
        .col(text(manager, "code"))
        .col(id("group_id"))
        .col(id("design_id"))
        .col(whole("ordinal"))
        .col(text(manager, "worry"))
        .col(text(manager, "vehicle"))
        .col(text(manager, "frame_kind"))
        .col(text(manager, "state"))
        .col(whole("most_takers"))
        .col(whole("takers").default(0))
        .col(id("hung_by"))
        .col(instant("hung_at"))
        .col(instant("ends_at"))
        .col(optional(instant("ended_at")))
        .foreign_key(&mut reference("notices", "group_id", "groups", "id"))
        .foreign_key(&mut reference("notices", "design_id", "designs", "id"))
        .foreign_key(&mut reference("notices", "hung_by", "accounts", "id"))
        .to_owned();
    manager.create_table(notices).await?;
    index(manager, "notices", &["code"], true).await?;
    index(manager, "notices", &["state", "hung_at", "id"], false).await?;
    index(manager, "notices", &["state", "frame_kind", "hung_at", "id"], false).await?;
    index(manager, "notices", &["state", "vehicle", "hung_at", "id"], false).await?;
    index(manager, "notices", &["state", "ends_at"], false).await?;
    index(manager, "notices", &["group_id", "state"], false).await?;
    index(manager, "notices", &["design_id", "state"], false).await?;
    index(manager, "notices", &["hung_by"], false).await?;
    // `hung_at` repeats the notice's, so that a page of one skill is read in order without sorting.
    let skills = Table::create()
        .table("notice_skills")
        .col(id("notice_id"))
        .col(text(manager, "skill"))
        .col(instant("hung_at"))
        .primary_key(Index::create().name("pk_notice_skills").col("notice_id").col("skill"))
        .foreign_key(&mut reference("notice_skills", "notice_id", "notices", "id"))
        .to_owned();
    manager.create_table(skills).await?;
    index(manager, "notice_skills", &["skill", "hung_at", "notice_id"], false).await
}

async fn take_ups(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // While `ended_at` is null its account reads and remarks on the design from `from_ordinal` on.
    let take_ups = Table::create()
        .table("take_ups")
        .col(id("id").primary_key())
        .col(id("notice_id"))
        .col(id("design_id"))
        .col(id("account_id"))
        .col(whole("from_ordinal"))
        .col(instant("taken_at"))
        .col(optional(instant("ended_at")))
        .col(optional(text(manager, "ended_how")))
        .col(text(manager, "reason").default(""))
        .foreign_key(&mut reference("take_ups", "notice_id", "notices", "id"))
        .foreign_key(&mut reference("take_ups", "design_id", "designs", "id"))
        .foreign_key(&mut reference("take_ups", "account_id", "accounts", "id"))
        .to_owned();
    manager.create_table(take_ups).await?;
    index(manager, "take_ups", &["notice_id", "account_id"], false).await?;
    index(manager, "take_ups", &["design_id", "account_id"], false).await?;
    index(manager, "take_ups", &["account_id", "ended_at"], false).await
}
