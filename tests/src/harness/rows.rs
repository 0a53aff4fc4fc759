//! Many rows at once, put into the tables beside a running server: what would take ten thousand calls.

use super::Database;
use sea_orm::{ConnectOptions, ConnectionTrait, DatabaseConnection, DbErr, Statement, Value};
use uuid::Uuid;

/// Rows written by one statement.
const ROWS_AT_ONCE: usize = 200;

/// Copies a design's newest remark, so many times, onto these tags in turn. As a release that did not carry remarks would
/// have left them: with nothing but the place they were made on.
///
/// # Panics
/// Where the design has no remark or the database refuses.
#[allow(clippy::expect_used, reason = "a failed step is a failed test")]
pub async fn remarks_at_once(database: &Database, design: &str, tags: &[String], count: usize) {
    let connection = open(database).await.expect("the test's database");
    copy(&connection, design, tags, count).await.expect("a design with a remark");
    connection.close().await.expect("an end");
}

/// Copies the notice of a code, so many times: hung a second apart up to now, of twenty vehicles (and one of each ten
/// thousand of `avocet`), twelve kinds of frame (`kind 0` to `kind 11`), half of them for `joinery`, a third for
/// `statics`, one of five thousand for `glue`.
///
/// # Panics
/// Where there is no such notice or the database refuses.
#[allow(clippy::expect_used, reason = "a failed step is a failed test")]
pub async fn notices_at_once(database: &Database, code: &str, count: usize) {
    let connection = open(database).await.expect("the test's database");
    let fresh_id = if database.url().is_some() { "gen_random_uuid()" } else { "randomblob(16)" };
    let copies = format!(
        "INSERT INTO notices (id, code, group_id, design_id, ordinal, worry, vehicle, frame_kind, state, most_takers, takers, \
         hung_by, hung_at, ends_at) WITH RECURSIVE more(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM more WHERE n < {count}) \
         SELECT {fresh_id}, 'copy-' || n, group_id, design_id, ordinal, worry, \
         CASE WHEN n % 10000 = 77 THEN 'avocet' ELSE 'van ' || (n % 20) END, 'kind ' || (n % 12), state, most_takers, 0, \
         hung_by, hung_at - CAST({count} - n AS bigint) * 1000000, ends_at FROM notices, more WHERE code = '{code}'"
    );
    let skill = |name: &str, which: &str| {
        format!(
            "INSERT INTO notice_skills (notice_id, skill, hung_at) SELECT id, '{name}', hung_at FROM notices \
             WHERE CASE WHEN code LIKE 'copy-%' THEN CAST(substr(code, 6) AS integer) % {which} END"
        )
    };
    for statement in [copies, skill("joinery", "2 = 0"), skill("statics", "3 = 0"), skill("glue", "5000 = 7")] {
        connection.execute_unprepared(&statement).await.expect("rows");
    }
    if database.url().is_some() {
        // What PostgreSQL does by itself some time after so many rows.
        connection.execute_unprepared("ANALYZE notices; ANALYZE notice_skills").await.expect("counts");
    }
    connection.close().await.expect("an end");
}

async fn open(database: &Database) -> Result<DatabaseConnection, DbErr> {
    let file = database.folder().join("battenboard.db");
    let url = database.url().unwrap_or_else(|| format!("sqlite://{}?mode=rw", file.display()));
    let mut options = ConnectOptions::new(url);
    options.max_connections(1).sqlx_logging(false);
    sea_orm::Database::connect(options).await
}

async fn copy(connection: &DatabaseConnection, design: &str, tags: &[String], count: usize) -> Result<(), DbErr> {
    let backend = connection.get_database_backend();
    let find = "SELECT id, latest_remark FROM designs WHERE name = $1";
    let found = connection.query_one_raw(Statement::from_sql_and_values(backend, find, [design.into()])).await?;
    let found = found.ok_or_else(|| DbErr::RecordNotFound(design.to_owned()))?;
    let (id, latest): (Uuid, i64) = (found.try_get("", "id")?, found.try_get("", "latest_remark")?);
    let numbers: Vec<i64> = (latest + 1..).take(count).collect();
    for some in numbers.chunks(ROWS_AT_ONCE) {
        let mut values: Vec<Value> = vec![id.into(), latest.into()];
        let mut rows = Vec::new();
        for number in some {
            let tag = &tags[usize::try_from(*number).unwrap_or_default() % tags.len()];
            let next = values.len();
            values.extend([Value::from(Uuid::now_v7()), Value::from(*number), Value::from(tag.as_str())]);
            rows.push(format!(
                "SELECT ${}, design_id, ${}, revision_id, ordinal, place_kind, ${}, at_mm, kind, state, text, author_id, \
                 0, created_at FROM remarks WHERE design_id = $1 AND number = $2",
                next + 1,
                next + 2,
                next + 3
            ));
        }
        let insert = format!(
            "INSERT INTO remarks (id, design_id, number, revision_id, ordinal, place_kind, place_tag, at_mm, kind, state, \
             text, author_id, entries, created_at) {}",
            rows.join(" UNION ALL ")
        );
        connection.execute_raw(Statement::from_sql_and_values(backend, insert, values)).await?;
    }
    let update = "UPDATE designs SET latest_remark = latest_remark + $1 WHERE id = $2";
    let values = [Value::from(i64::try_from(count).unwrap_or_default()), id.into()];
    connection.execute_raw(Statement::from_sql_and_values(backend, update, values)).await?;
    Ok(())
}
