"""The second opinion by a client in another language, from the server's reflection alone.

Usage: second_opinion.py ADDRESS

Plays the story: a keeper founds a group and lets a builder in; the builder submits and hangs a notice; somebody of another
group takes it up, looks through members and anchors, says what is wrong, has it proved, concludes; the builder submits the
next revision; each remark says by itself how its member stands; the reviewer back-checks; the keeper issues for cutting; in
the end everybody can read who did what. Prints one line a step; exits 1 at the first thing that is wrong.
"""

import sys
import time
import uuid

import grpc
from whole_job import Server, Wrong, require, say

GROUP = "saltmarsh-wheels"
PLACE = {"group": GROUP, "design": "shelf"}

SHELF = """format = 1
name = "shelf"
title = "One bearer on two ribs"

[vehicle]
name = "Curlew"
survey = 1

[[stock]]
name = "bearer"
section = {{ width = 45, depth = {depth} }}
material = "C24"
grade = "stamped"

[[members]]
tag = "{tag}"
kind = "bearer"
stock = "bearer"
from = [1000, 0, 500]
to = [1800, 0, 500]

[[anchors]]
member = "{tag}"
at = "start"
to = "left rib"
hold = "seated"

[[anchors]]
member = "{tag}"
at = "end"
to = "right rib"
hold = "pinned"

[[loads]]
case = "a shelf"
action = "permanent"
member = "{tag}"
at = 400
force = [0, 0, -150]
"""


def account(server, name, **entitlement):
    return server.call(
        "AccountService", "CreateAccount", name=name, password=f"seven planks of larch, {name}", **entitlement
    ).tokens.access_token


def people(server):
    """Keeper, builder, and a reviewer of another group."""
    ines = account(server, "ines")
    server.call("GroupService", "CreateGroup", ines, name=GROUP, title="Saltmarsh Wheels")
    server.call("GroupService", "CreateGroup", ines, name="elsewhere", title="Elsewhere")

    def code(group, right):
        made = server.call("GroupService", "CreateInvitation", ines, group=group, right=server.enum("Right", right))
        return made.code

    okoro = account(server, "okoro", invitation_code=code(GROUP, "RIGHT_BUILDER"))
    maarit = account(server, "maarit", invitation_code=code("elsewhere", "RIGHT_REVIEWER"))
    say("three accounts, two groups")
    return ines, okoro, maarit


def submit(server, token, text, worked_from):
    answer = server.call(
        "DesignService", "SubmitRevision", token, text=text, worked_from=worked_from, request_id=str(uuid.uuid4()), **PLACE
    )
    for step in server.call("FindingService", "WatchCheck", token, letter=answer.revision.letter, **PLACE):
        last = step
    require(last.HasField("findings"), "the check did not come to its end")
    say(f"revision {answer.revision.letter}")
    return last.findings


def notice(server, okoro, maarit):
    """Hung, found on the board without the design's name, taken up; before that the design does not exist."""
    by = {"seconds": int(time.time()) + 7 * 86400}
    hung = server.call(
        "NoticeService", "HangNotice", okoro, worry="is 45 wide enough?", frame_kind="shelf", skills=["joinery"],
        expire_time=by, **PLACE,
    ).notice
    server.refused(grpc.StatusCode.NOT_FOUND, "DesignService", "GetDesign", maarit, **PLACE)
    found = server.call("NoticeService", "ListNotices", maarit, skill="joinery").notices
    require([item.code for item in found] == [hung.code], "the notice is not on the board")
    require(not found[0].design, "the board names a design that the reader may not see")
    taken = server.call("NoticeService", "TakeUpNotice", maarit, notice_id=hung.code).notice
    require(taken.mine and taken.design == "shelf", "the taking up did not show")
    say(f"notice {hung.code} taken up")


def opinion(server, maarit):
    """Sums of her own first, looks, a snag, a proof load, a conclusion."""
    server.call("ReviewService", "BeginOwnSums", maarit, **PLACE)
    kept = server.call("FindingService", "GetFindings", maarit, **PLACE)
    require(kept.figures_withheld and not kept.HasField("findings"), "the server's figures came out")
    member = {"kind": server.enum("PlaceKind", "PLACE_KIND_MEMBER"), "tag": "B1"}
    anchor = {"kind": server.enum("PlaceKind", "PLACE_KIND_ANCHOR"), "tag": "B1/left rib"}
    server.call(
        "ReviewService", "MarkLookedAt", maarit, places=[member], kind=server.enum("LookKind", "LOOK_KIND_OWN_SUMS"),
        own_utilisation=0.12, **PLACE,
    )
    ended = server.call("ReviewService", "EndOwnSums", maarit, **PLACE).own_sums
    require(ended.figures_in, "her figures were not seen")
    review = server.call(
        "ReviewService", "MarkLookedAt", maarit, places=[anchor],
        kind=server.enum("LookKind", "LOOK_KIND_LOOKED_AT_ONLY"), **PLACE,
    ).review
    require([item.place.tag for item in review.nobody] == ["B1/right rib"], "what nobody looked at is not told")
    snag = server.enum("RemarkKind", "REMARK_KIND_SNAG")
    doubt = server.call("RemarkService", "CreateRemark", maarit, place=member, kind=snag, text="books creep", **PLACE).remark
    require(doubt.from_outside, "a remark from outside is not said to be one")
    proved = server.call(
        "RemarkService", "CreateRemark", maarit, place={**member, "at_mm": 400.0}, kind=snag, text="standing amid it",
        proof_load={"mass_kg": 100.0, "most_sag_mm": 0.8}, **PLACE,
    ).remark
    failed = server.enum("ProofOutcome", "PROOF_OUTCOME_FAILED")
    require([row.outcome for row in proved.proof_results] == [failed], f"the proof load came to {proved.proof_results}")
    server.call(
        "ReviewService", "ConcludeReview", maarit, note="nearly there",
        disposition=server.enum("Disposition", "DISPOSITION_CHANGE_AND_SEND_AGAIN"), **PLACE,
    )
    server.refused(
        grpc.StatusCode.FAILED_PRECONDITION, "CuttingService", "IssueForCutting", server.okoro, letter="A", **PLACE
    )
    say("looked at, remarked, proved, concluded")
    return doubt, proved


def mended(server, ines, okoro, maarit, doubt, proved):
    """The next revision: a deeper bearer under another name."""
    server.call("RemarkService", "AnswerRemark", okoro, remark={"id": doubt.id}, text="95 deep now")
    submit(server, okoro, SHELF.format(depth=95, tag="F1"), "A")
    remark = server.call("RemarkService", "GetRemark", maarit, remark={"id": doubt.id}).remark
    renamed = server.enum("StandingKind", "STANDING_KIND_RENAMED")
    require((remark.standing.what, remark.standing.tag) == (renamed, "F1"), f"the remark stands as {remark.standing}")
    cleared = server.enum("RemarkState", "REMARK_STATE_CLEARED")
    until = time.time() + 60
    while server.call("RemarkService", "GetRemark", maarit, remark={"id": proved.id}).remark.state != cleared:
        require(time.time() < until, "a revision that passes did not clear the proof load's remark")
        time.sleep(0.05)
    server.refused(grpc.StatusCode.PERMISSION_DENIED, "RemarkService", "ClearRemark", okoro, remark={"id": doubt.id})
    server.call("RemarkService", "ClearRemark", maarit, remark={"id": doubt.id}, note="mended")
    server.call(
        "ReviewService", "ConcludeReview", maarit, disposition=server.enum("Disposition", "DISPOSITION_CUT_IT"), **PLACE
    )
    server.refused(
        grpc.StatusCode.PERMISSION_DENIED, "ReviewService", "ConcludeReview", okoro,
        disposition=server.enum("Disposition", "DISPOSITION_CUT_IT"), **PLACE,
    )
    stamp = server.call("CuttingService", "IssueForCutting", ines, letter="B", **PLACE).stamp
    require(stamp.issued_by == "ines" and not stamp.override_reason, f"issued as {stamp}")
    say("mended, back-checked, issued for cutting")


def afterwards(server, ines, maarit):
    """Who knew what when: in order, and to outsiders only what is theirs."""
    news = server.call("NewsService", "ListNews", ines, from_oldest=True, page_size=200)
    kinds = [server.enum_name("EventKind", event.kind).removeprefix("EVENT_KIND_") for event in news.events if not event.on_noticeboard]
    wanted = ["GROUP_FOUNDED", "REVISION_SUBMITTED", "NOTICE_TAKEN_UP", "CONCLUDED", "REVISION_SUBMITTED", "ISSUED_FOR_CUTTING"]
    rest = iter(kinds)
    require(all(kind in rest for kind in wanted), f"the news do not tell the story: {kinds}")
    theirs = server.call("NewsService", "ListNews", maarit, from_oldest=True, page_size=200).events
    require({event.design for event in theirs} <= {"", "shelf"}, "news of another design")
    record = server.call("NoticeService", "GetReviewerRecord", ines, account="maarit").record
    counts = (record.taken_up_count, record.concluded_count, record.snag_count, record.snag_mended_count)
    require(counts == (1, 1, 2, 2), f"her record is {counts}")
    say("the whole story, read back")


def main(address):
    server = Server(address)
    ines, okoro, maarit = people(server)
    server.okoro = okoro
    submit(server, okoro, SHELF.format(depth=70, tag="B1"), "")
    notice(server, okoro, maarit)
    doubt, proved = opinion(server, maarit)
    mended(server, ines, okoro, maarit, doubt, proved)
    afterwards(server, ines, maarit)


if __name__ == "__main__":
    try:
        main(sys.argv[1])
    except Wrong as wrong:
        print(f"wrong: {wrong}", file=sys.stderr)
        sys.exit(1)
