//! News: every event once and in order, to whoever may hear it, across reconnects, restarts and servers.

#[path = "news/command.rs"]
mod command;
#[path = "news/servers.rs"]
mod servers;

use battenboard_proto::v1;
use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::{Actor, Bench, Crew, Ear, GROUP, on_both, refused};
use sea_orm::ConnectionTrait;
use std::time::{Duration, Instant};
use tonic::transport::Endpoint;
use tonic::{Code, Status};
use tonic_types::StatusExt;
use v1::EventKind as Kind;

/// Numbers of a group's own events, as they were heard.
fn numbers(events: &[v1::Event]) -> Vec<i64> {
    events.iter().filter(|event| !event.on_noticeboard).map(|event| event.number).collect()
}

/// What each is about, without time and number.
fn told(events: &[v1::Event]) -> Vec<(Kind, String, String, i64)> {
    let one = |event: &v1::Event| {
        (event.kind(), event.actor.clone(), format!("{} {}", event.design, event.letter), event.remark_number)
    };
    events.iter().map(one).collect()
}

async fn page(who: &Actor, request: v1::ListNewsRequest) -> Result<v1::ListNewsResponse, Status> {
    Ok(who.news().list_news(request).await?.into_inner())
}

async fn from_cursor(who: &Actor, cursor: &str) -> Result<v1::ListNewsResponse, Status> {
    page(who, v1::ListNewsRequest { cursor: cursor.into(), ..Default::default() }).await
}

async fn shelf(who: &Actor) {
    who.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
}

/// Lets another hand write events into the group's stream: of as many as wanted at once, and unheard by the server.
async fn writes_unheard(bench: &Bench, count: usize) {
    let connection = bench.database().connect().await.unwrap();
    let stream = "(SELECT id FROM groups WHERE name = 'saltmarsh-wheels')";
    let rows = format!(
        "WITH RECURSIVE more(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM more WHERE n < {count}) \
         INSERT INTO events (stream_id, number, kind, created_at) \
         SELECT s.id, s.head + n, 'remark', 1790000000000000 FROM streams s, more WHERE s.id = {stream}"
    );
    let head = format!("UPDATE streams SET head = head + {count} WHERE id = {stream}");
    connection.execute_unprepared(&format!("BEGIN; {rows}; {head}; COMMIT")).await.unwrap();
    connection.close().await.unwrap();
}

#[test]
fn what_the_crew_does_is_heard_as_it_happens_and_read_afterwards() {
    on_both("news heard", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = bench.saltmarsh().await;
        let mut ear = okoro.listens("").await.unwrap();
        assert_eq!(ear.catches_up().await.unwrap(), []);
        let from = ear.cursor.clone();
        shelf(&ines).await;
        let remark = okoro.remarks_on(GROUP, "shelf", "B1", "too thin").await.unwrap();
        ines.answers(&remark, "now thicker").await.unwrap();
        okoro.clears(&remark).await.unwrap();
        ines.raises_again(&remark, "still thin").await.unwrap();
        let heard = ear.hears(5).await.unwrap();
        let row = |kind, actor: &str, remark| (kind, actor.to_owned(), "shelf A".to_owned(), remark);
        let wanted = [
            row(Kind::RevisionSubmitted, "ines", 0),
            row(Kind::RemarkMade, "okoro", 1),
            row(Kind::RemarkAnswered, "ines", 1),
            row(Kind::RemarkCleared, "okoro", 1),
            row(Kind::RemarkRaisedAgain, "ines", 1),
        ];
        assert_eq!(told(&heard), wanted);
        assert!(heard.iter().all(|event| event.group == GROUP && !event.on_noticeboard));
        let first = heard[0].number;
        assert_eq!(numbers(&heard), (first..first + 5).collect::<Vec<_>>());

        let read = from_cursor(&okoro, &from).await.unwrap();
        assert_eq!(read.events, heard, "read and heard are the same");
        assert_eq!((read.next_page_token.as_str(), &read.cursor), ("", &ear.cursor));
        assert_eq!(from_cursor(&okoro, &read.cursor).await.unwrap().events, []);

        // Page by page from the oldest: founded, two entered, and the five.
        let mut request = v1::ListNewsRequest { from_oldest: true, page_size: 3, ..Default::default() };
        let mut all = Vec::new();
        let cursor = loop {
            let answer = page(&okoro, request.clone()).await.unwrap();
            assert!(answer.events.len() <= 3);
            all.extend(answer.events);
            if answer.next_page_token.is_empty() {
                break answer.cursor;
            }
            request.page_token = answer.next_page_token;
        };
        assert_eq!(numbers(&all), (1..=8).collect::<Vec<_>>());
        assert_eq!((all[0].kind(), all[0].actor.as_str()), (Kind::GroupFounded, "ines"));
        assert_eq!((all[1].kind(), all[1].account.as_str()), (Kind::CrewChanged, "okoro"));
        assert_eq!(cursor, ear.cursor);
        let last = page(&okoro, v1::ListNewsRequest { page_size: 2, ..Default::default() }).await.unwrap();
        assert_eq!((last.events, last.cursor), (heard[3..].to_vec(), cursor));
    });
}

#[test]
fn sixteen_writers_at_once_leave_no_hole_and_no_disorder() {
    on_both("news order", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = bench.saltmarsh().await;
        for number in 0..4 {
            let name = format!("shelf-{number}");
            ines.submits(GROUP, &name, &one_bearer(&name, 800.0), "").await.unwrap();
        }
        let mut ears = Vec::new();
        for _ in 0..4 {
            let mut ear = okoro.listens("").await.unwrap();
            ear.catches_up().await.unwrap();
            ears.push(ear);
        }
        let mut writers = tokio::task::JoinSet::new();
        for writer in 0..16 {
            let who = if writer % 2 == 0 { ines.clone() } else { okoro.clone() };
            writers.spawn(async move {
                for round in 0..5 {
                    let design = format!("shelf-{}", (writer + round) % 4);
                    who.remarks_on(GROUP, &design, "B1", &format!("{writer} {round}")).await.unwrap();
                }
            });
        }
        writers.join_all().await;
        let first = ears[0].hears(80).await.unwrap();
        let begin = first[0].number;
        assert_eq!(numbers(&first), (begin..begin + 80).collect::<Vec<_>>());
        for ear in &mut ears[1..] {
            assert_eq!(ear.hears(80).await.unwrap(), first, "all hear the same");
        }
        // A remark's number is taken under its design's lock: in the order of commits it rises within each design.
        for number in 0..4 {
            let name = format!("shelf-{number}");
            let of_design: Vec<i64> =
                first.iter().filter(|event| event.design == name).map(|event| event.remark_number).collect();
            assert_eq!(of_design, (1..=20).collect::<Vec<_>>(), "{name}");
        }
    });
}

#[test]
fn a_cursor_goes_on_where_it_was_across_a_broken_stream_and_a_restart() {
    on_both("news resume", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = bench.saltmarsh().await;
        shelf(&ines).await;
        let mut ear = okoro.listens("").await.unwrap();
        ear.catches_up().await.unwrap();
        ines.remarks_on(GROUP, "shelf", "B1", "one").await.unwrap();
        let one = ear.hears(1).await.unwrap();
        let cursor = ear.cursor.clone();
        drop(ear);
        ines.remarks_on(GROUP, "shelf", "B1", "two").await.unwrap();
        let mut ear = okoro.listens(&cursor).await.unwrap();
        let two = ear.catches_up().await.unwrap();
        ines.remarks_on(GROUP, "shelf", "B1", "three").await.unwrap();
        let three = ear.hears(1).await.unwrap();
        let (cursor, listening) = (ear.cursor.clone(), tokio::spawn(async move { ear.hears_to_the_end().await }));
        bench.restart().await;
        let (left, end) = listening.await.unwrap();
        // The server says goodbye; where the connection is closed before it is heard, the stream ends without a word.
        assert!(left.is_empty() && [Code::Unavailable, Code::DataLoss].contains(&end.code()), "{left:?} {end:?}");
        let (ines, okoro) = (bench.again(&ines), bench.again(&okoro));
        ines.remarks_on(GROUP, "shelf", "B1", "four").await.unwrap();
        let mut ear = okoro.listens(&cursor).await.unwrap();
        let four = ear.catches_up().await.unwrap();
        let all = [one, two, three, four].concat();
        assert_eq!(all.iter().map(|event| event.remark_number).collect::<Vec<_>>(), [1, 2, 3, 4]);
        let begin = all[0].number;
        assert_eq!(numbers(&all), (begin..begin + 4).collect::<Vec<_>>());
    });
}

/// A way to the server on which nothing is read ahead: what its user does not take stays with the server.
async fn narrow(bench: &Bench) -> tonic::transport::Channel {
    let endpoint = Endpoint::from_shared(format!("http://{}", bench.address())).unwrap();
    endpoint.initial_stream_window_size(1024).connect().await.unwrap()
}

#[test]
fn a_reader_who_stops_reading_is_cut_off_and_nobody_else_is_harmed() {
    on_both("news slow reader", async |bench: &mut Bench| {
        let Crew { ines, okoro, maarit } = bench.saltmarsh().await;
        let mut slow = okoro.through(narrow(bench).await).listens("").await.unwrap();
        slow.catches_up().await.unwrap();
        let mut quick = maarit.listens("").await.unwrap();
        quick.catches_up().await.unwrap();
        // More than fills what lies on the way, and then the 1,000 that a reader may be behind.
        let mut heard = Vec::new();
        for _ in 0..6 {
            writes_unheard(bench, 500).await;
            heard.extend(quick.hears(500).await.unwrap());
        }
        let begin = heard[0].number;
        assert_eq!(numbers(&heard), (begin..begin + 3000).collect::<Vec<_>>());
        let (got, end) = slow.hears_to_the_end().await;
        assert_eq!(end.code(), Code::ResourceExhausted, "{end:?}");
        assert!(got.len() < 2000, "{} were sent to a reader who did not read", got.len());
        assert_eq!(got, heard[..got.len()], "what came before is whole");
        let details = end.get_error_details();
        let info = details.error_info().unwrap();
        assert_eq!(info.reason, "FELL_BEHIND");
        assert_eq!(info.metadata.get("cursor"), Some(&slow.cursor), "with his last cursor");
        // From there on he misses nothing; the others never noticed.
        let mut again = okoro.listens(&slow.cursor).await.unwrap();
        let rest = again.catches_up().await.unwrap();
        assert_eq!([got, rest].concat(), heard);
        shelf(&ines).await;
        assert_eq!(quick.hears(1).await.unwrap()[0].kind(), Kind::RevisionSubmitted);
    });
}

/// Waits for a stream's end, which must come within two seconds of `since`.
async fn ends_within_two_seconds(mut ear: Ear, since: Instant, code: Code) -> Vec<v1::Event> {
    let (events, end) = ear.hears_to_the_end().await;
    assert_eq!(end.code(), code, "{end:?}");
    assert!(since.elapsed() < Duration::from_secs(2), "{:?}", since.elapsed());
    events
}

#[test]
fn who_is_taken_out_or_signs_out_hears_no_more() {
    on_both("news ends", async |bench: &mut Bench| {
        let Crew { ines, okoro, maarit } = bench.saltmarsh().await;
        let (mut out, mut gone) = (okoro.listens("").await.unwrap(), maarit.listens("").await.unwrap());
        out.catches_up().await.unwrap();
        gone.catches_up().await.unwrap();
        let cursor = out.cursor.clone();
        let removal = v1::RemoveCrewRequest { group: GROUP.into(), account: "okoro".into() };
        ines.groups().remove_crew(removal).await.unwrap();
        let since = Instant::now();
        shelf(&ines).await;
        let heard = ends_within_two_seconds(out, since, Code::NotFound).await;
        assert_eq!(heard, [], "nothing from the event on that took him out");
        // He may go on listening to the rest, and hears nothing of the group.
        let mut rest = okoro.listens(&cursor).await.unwrap();
        assert_eq!(rest.catches_up().await.unwrap(), []);
        assert_eq!(from_cursor(&okoro, &cursor).await.unwrap().events, []);
        let oldest = v1::ListNewsRequest { from_oldest: true, ..Default::default() };
        assert_eq!(page(&okoro, oldest).await.unwrap().events, []);

        let heard = gone.hears(2).await.unwrap();
        assert_eq!(heard.iter().map(v1::Event::kind).collect::<Vec<_>>(), [Kind::CrewChanged, Kind::RevisionSubmitted]);
        maarit.accounts().sign_out(v1::SignOutRequest {}).await.unwrap();
        ends_within_two_seconds(gone, Instant::now(), Code::Unauthenticated).await;

        // Let in again, he hears from the event on that says so, on the stream that is open.
        let code = ines.invites(GROUP, v1::Right::Reviewer).await.unwrap();
        okoro.groups().accept_invitation(v1::AcceptInvitationRequest { code }).await.unwrap();
        let heard = rest.hears(1).await.unwrap();
        assert_eq!((heard[0].kind(), heard[0].account.as_str()), (Kind::CrewChanged, "okoro"));
        ines.remarks_on(GROUP, "shelf", "B1", "welcome back").await.unwrap();
        assert_eq!(rest.hears(1).await.unwrap()[0].kind(), Kind::RemarkMade);
    });
}

#[test]
fn an_outsider_hears_nothing_of_other_groups() {
    on_both("news outsider", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = bench.saltmarsh().await;
        let code = ines.invites(GROUP, v1::Right::Onlooker).await.unwrap();
        let other = bench.stranger().makes_account("other", Some(&code)).await.unwrap();
        let leaving = v1::RemoveCrewRequest { group: GROUP.into(), account: "other".into() };
        other.groups().remove_crew(leaving).await.unwrap();
        other.founds("heron-boats").await.unwrap();
        let mut ear = other.listens("").await.unwrap();
        ear.catches_up().await.unwrap();
        shelf(&ines).await;
        other.submits("heron-boats", "bench", &one_bearer("bench", 700.0), "").await.unwrap();
        let heard = ear.hears(1).await.unwrap();
        assert_eq!((heard.len(), heard[0].group.as_str(), heard[0].design.as_str()), (1, "heron-boats", "bench"));
        let all = page(&other, v1::ListNewsRequest { from_oldest: true, ..Default::default() }).await.unwrap();
        assert!(all.events.iter().all(|event| event.group == "heron-boats"), "{:?}", all.events);
        let all = page(&okoro, v1::ListNewsRequest { from_oldest: true, ..Default::default() }).await.unwrap();
        assert!(all.events.iter().all(|event| event.group == GROUP) && all.events.len() >= 4, "{:?}", all.events);
    });
}

#[test]
fn a_cursor_that_is_none_is_refused() {
    on_both("news cursors", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = bench.saltmarsh().await;
        let good = from_cursor(&okoro, "").await.unwrap().cursor;
        from_cursor(&okoro, &good).await.unwrap();
        // One letter of a number changed: forward in the stream, past what the digest vouches for.
        let mut altered = good.clone();
        let last = if altered.pop() == Some('0') { '1' } else { '0' };
        altered.push(last);
        for bad in [altered, "zz".into(), "00".into(), good[2..].to_owned(), "ab".repeat(30_000)] {
            refused(from_cursor(&okoro, &bad).await, Code::InvalidArgument);
            refused(okoro.listens(&bad).await, Code::InvalidArgument);
            let request = v1::ListNewsRequest { page_token: bad, ..Default::default() };
            refused(page(&okoro, request).await, Code::InvalidArgument);
        }
        refused(from_cursor(&ines, &good).await, Code::InvalidArgument);
        refused(ines.listens(&good).await, Code::InvalidArgument);
        let both = v1::ListNewsRequest { cursor: good, from_oldest: true, ..Default::default() };
        refused(page(&okoro, both).await, Code::InvalidArgument);
        let negative = v1::ListNewsRequest { page_size: -1, ..Default::default() };
        refused(page(&okoro, negative).await, Code::InvalidArgument);
    });
}

#[test]
fn events_are_kept_for_ninety_days_and_an_older_cursor_is_told_where_to_go_on() {
    on_both("news pruning", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = bench.saltmarsh().await;
        let old = from_cursor(&okoro, "").await.unwrap().cursor;
        shelf(&ines).await;
        let young = from_cursor(&okoro, &old).await.unwrap();
        assert_eq!(young.events.len(), 1);
        let connection = bench.database().connect().await.unwrap();
        let day_us = 86_400_000_000_i64;
        connection
            .execute_unprepared(&format!("UPDATE events SET created_at = created_at - {}", 91 * day_us))
            .await
            .unwrap();
        ines.remarks_on(GROUP, "shelf", "B1", "of today").await.unwrap();
        bench.restart().await;
        let (ines, okoro) = (bench.again(&ines), bench.again(&okoro));
        let deadline = Instant::now() + Duration::from_secs(10);
        let refusal = loop {
            // The sweep begins with the server, beside its first answers.
            match from_cursor(&okoro, &old).await {
                Err(status) => break status,
                Ok(_) => assert!(Instant::now() < deadline, "nothing was pruned"),
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        };
        assert_eq!(refusal.code(), Code::OutOfRange, "{refusal:?}");
        assert!(refusal.message().contains("read the state, go on from 5"), "{}", refusal.message());
        let mut ear = okoro.listens(&old).await.unwrap();
        assert_eq!(ear.message().await.unwrap_err().code(), Code::OutOfRange);
        // One who had all that is gone misses nothing.
        let rest = from_cursor(&okoro, &young.cursor).await.unwrap();
        assert_eq!(numbers(&rest.events), [5]);
        let oldest = page(&okoro, v1::ListNewsRequest { from_oldest: true, ..Default::default() }).await.unwrap();
        assert_eq!(numbers(&oldest.events), [5]);
        let details = refusal.get_error_details();
        let cursor = details.error_info().unwrap().metadata.get("cursor").cloned().unwrap();
        ines.remarks_on(GROUP, "shelf", "B1", "of today, too").await.unwrap();
        assert_eq!(numbers(&from_cursor(&okoro, &cursor).await.unwrap().events), [6], "numbers go on");
    });
}

#[test]
fn a_stream_ends_with_its_token_and_goes_on_with_the_next() {
    let scene = async |bench: &mut Bench| {
        let ines = bench.first_account("ines").await;
        ines.founds(GROUP).await.unwrap();
        let mut ear = ines.listens("").await.unwrap();
        let (_, end) = ear.hears_to_the_end().await;
        assert_eq!(end.code(), Code::Unauthenticated, "{end:?}");
        refused(ines.listens(&ear.cursor).await, Code::Unauthenticated);
        let ines = ines.signs_in().await.unwrap();
        shelf(&ines).await;
        assert_eq!(ines.listens(&ear.cursor).await.unwrap().catches_up().await.unwrap().len(), 1);
    };
    battenboard_tests::harness::on_both_with("news token", |options| options.config.lifetimes.access_s = 3, scene);
}

#[test]
fn an_account_and_a_server_have_so_many_listeners_and_no_more() {
    let scene = async |bench: &mut Bench| {
        let Crew { ines, okoro, maarit } = bench.saltmarsh().await;
        let mut open = Vec::new();
        for _ in 0..2 {
            open.push(ines.listens("").await.unwrap());
        }
        refused(ines.listens("").await, Code::ResourceExhausted);
        open.push(okoro.listens("").await.unwrap());
        refused(maarit.listens("").await, Code::ResourceExhausted);
        for ear in &mut open {
            ear.catches_up().await.unwrap();
        }
        open.remove(0);
        // The server sees at once that a reader has gone.
        let deadline = Instant::now() + Duration::from_secs(2);
        while maarit.listens("").await.is_err() {
            assert!(Instant::now() < deadline, "the place was not given back");
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    };
    let change = |options: &mut battenboard_tests::harness::ServedOptions| {
        options.config.limits.streams_of_account = 2;
        options.config.limits.listeners = 3;
    };
    battenboard_tests::harness::on_both_with("news limits", change, scene);
}
