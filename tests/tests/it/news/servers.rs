//! Two servers on one PostgreSQL: whoever listens at either hears each event once, in order.

use super::{Kind, ends_within_two_seconds, numbers, shelf};
use battenboard_proto::v1;
use battenboard_tests::harness::{
    Actor, Bench, Crew, Database, DatabaseKind, GROUP, ServerProcess, block_on, on_postgres,
};
use battenboard_tests::verify::not_run;
use sea_orm::ConnectionTrait;
use std::time::{Duration, Instant};
use tonic::Code;

#[test]
fn a_writer_who_stalls_just_before_his_commit_makes_no_listener_skip() {
    on_postgres("news stalled writer", async |bench: &mut Bench| {
        let Crew { ines, okoro, maarit } = bench.saltmarsh().await;
        shelf(&ines).await;
        let other = bench.another_server();
        let there = maarit.through(other.channel().await.unwrap());
        let (mut here, mut far) = (okoro.listens("").await.unwrap(), there.listens("").await.unwrap());
        here.catches_up().await.unwrap();
        far.catches_up().await.unwrap();
        // Writer 1: has taken its number and written its event, and does not come to its commit.
        let stalled = bench.database().connect().await.unwrap();
        stalled.execute_unprepared("BEGIN").await.unwrap();
        let take = "WITH taken AS (UPDATE streams SET head = head + 1 \
                    WHERE id = (SELECT id FROM groups WHERE name = 'saltmarsh-wheels') RETURNING id, head) \
                    INSERT INTO events (stream_id, number, kind, created_at) SELECT id, head, 'group', 1 FROM taken";
        stalled.execute_unprepared(take).await.unwrap();
        // Writer 2 wants the same stream, at the other server.
        let second = tokio::spawn(async move { there.remarks_on(GROUP, "shelf", "B1", "second").await.map(|_| ()) });
        tokio::time::sleep(Duration::from_millis(2500)).await;
        assert!(!second.is_finished(), "writer 2 did not wait: its number would come before that of writer 1");
        stalled.execute_unprepared("COMMIT").await.unwrap();
        second.await.unwrap().unwrap();
        for ear in [&mut here, &mut far] {
            let heard = ear.hears(2).await.unwrap();
            let kinds: Vec<Kind> = heard.iter().map(v1::Event::kind).collect();
            assert_eq!(kinds, [Kind::GroupFounded, Kind::RemarkMade]);
            assert_eq!(numbers(&heard), [5, 6]);
        }
        ines.remarks_on(GROUP, "shelf", "B1", "third").await.unwrap();
        for ear in [&mut here, &mut far] {
            assert_eq!(numbers(&ear.hears(1).await.unwrap()), [7], "nothing is heard twice");
        }
        other.stop().unwrap();
    });
}

#[test]
fn an_event_reaches_the_other_server_at_once_and_a_removal_ends_streams_there() {
    on_postgres("news two servers", async |bench: &mut Bench| {
        let Crew { ines, okoro, maarit } = bench.saltmarsh().await;
        let other = bench.another_server();
        let channel = other.channel().await.unwrap();
        let mut removed = okoro.through(channel.clone()).listens("").await.unwrap();
        let mut signed_out = maarit.through(channel.clone()).listens("").await.unwrap();
        removed.catches_up().await.unwrap();
        signed_out.catches_up().await.unwrap();
        // The listening connection of a server that has just started needs its moment.
        tokio::time::sleep(Duration::from_millis(700)).await;
        shelf(&ines).await;
        removed.hears(1).await.unwrap();
        // Each of them, whenever it comes: a server that only looked every two seconds would be late for some.
        for number in 0..6 {
            tokio::time::sleep(Duration::from_millis(350)).await;
            let since = Instant::now();
            ines.remarks_on(GROUP, "shelf", "B1", &number.to_string()).await.unwrap();
            removed.hears(1).await.unwrap();
            assert!(since.elapsed() < Duration::from_millis(700), "{number}: {:?}", since.elapsed());
        }
        let removal = v1::RemoveCrewRequest { group: GROUP.into(), account: "okoro".into() };
        ines.groups().remove_crew(removal).await.unwrap();
        let heard = ends_within_two_seconds(removed, Instant::now(), Code::NotFound).await;
        assert_eq!(heard, []);
        maarit.accounts().sign_out(v1::SignOutRequest {}).await.unwrap();
        ends_within_two_seconds(signed_out, Instant::now(), Code::Unauthenticated).await;
        other.stop().unwrap();
    });
}

#[test]
fn one_server_killed_its_listeners_go_on_at_the_other() {
    if !DatabaseKind::Postgres.is_here() {
        not_run("postgres", "news killed server");
        return;
    }
    let database = Database::fresh(DatabaseKind::Postgres);
    block_on(async {
        let start = || ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), &database);
        let (mut killed, stays) = (start(), start());
        let ines = Actor::stranger(stays.channel().await).makes_account("ines", None).await.unwrap();
        ines.founds(GROUP).await.unwrap();
        shelf(&ines).await;
        let at_killed = ines.through(killed.channel().await);
        let mut ear = at_killed.listens("").await.unwrap();
        ear.catches_up().await.unwrap();
        ines.remarks_on(GROUP, "shelf", "B1", "one").await.unwrap();
        at_killed.remarks_on(GROUP, "shelf", "B1", "two").await.unwrap();
        let mut heard = ear.hears(2).await.unwrap();
        let writing = tokio::spawn({
            let ines = ines.clone();
            async move {
                for number in 3..=30 {
                    ines.remarks_on(GROUP, "shelf", "B1", &number.to_string()).await.unwrap();
                }
            }
        });
        heard.extend(ear.hears(5).await.unwrap());
        killed.kill();
        let (more, end) = ear.hears_to_the_end().await;
        assert_ne!(end.code(), Code::DeadlineExceeded, "a stream that nobody serves must end");
        heard.extend(more);
        let mut ear = ines.listens(&ear.cursor).await.unwrap();
        while heard.len() < 30 {
            heard.extend(ear.hears(1).await.unwrap());
        }
        writing.await.unwrap();
        assert_eq!(heard.iter().map(|event| event.remark_number).collect::<Vec<_>>(), (1..=30).collect::<Vec<_>>());
        let begin = heard[0].number;
        assert_eq!(numbers(&heard), (begin..begin + 30).collect::<Vec<_>>());
    });
}
