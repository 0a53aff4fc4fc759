"""A client in another language: no generated stubs, no .proto file, everything from the server's reflection.

Usage: whole_job.py ADDRESS DESIGN_FILE FINDINGS_JSON

Makes two accounts, founds a group, lets the second in, submits the design, follows its check, compares every
utilisation with FINDINGS_JSON (what `batten check --json` printed for the same file, the offline half), remarks on two
members, answers, clears, and reads everything back. Prints one line a step; exits 1 at the first thing that is wrong.
"""

import json
import sys
import uuid

import grpc
from google.protobuf import descriptor_pool, message_factory
from grpc_reflection.v1alpha.proto_reflection_descriptor_database import ProtoReflectionDescriptorDatabase

PACKAGE = "battenboard.v1"
TOLERANCE = 1e-12
PASSWORDS = {"ines": "seven planks of larch", "okoro": "the tide was out at nine"}


class Wrong(Exception):
    """Something is not as the contract says."""


def require(condition, message):
    if not condition:
        raise Wrong(message)


class Server:
    """Calls methods by name with plain dictionaries; knows nothing of the contract but what reflection tells."""

    def __init__(self, address):
        self.channel = grpc.insecure_channel(address)
        grpc.channel_ready_future(self.channel).result(timeout=10)
        self.database = ProtoReflectionDescriptorDatabase(self.channel)
        self.pool = descriptor_pool.DescriptorPool(self.database)

    def method(self, service, name):
        return self.pool.FindServiceByName(f"{PACKAGE}.{service}").FindMethodByName(name)

    def enum(self, name, value):
        return self.pool.FindEnumTypeByName(f"{PACKAGE}.{name}").values_by_name[value].number

    def enum_name(self, name, number):
        return self.pool.FindEnumTypeByName(f"{PACKAGE}.{name}").values_by_number[number].name

    def call(self, service, name, token=None, /, **fields):
        method = self.method(service, name)
        request_class = message_factory.GetMessageClass(method.input_type)
        response_class = message_factory.GetMessageClass(method.output_type)
        path = f"/{PACKAGE}.{service}/{name}"
        maker = self.channel.unary_stream if method.server_streaming else self.channel.unary_unary
        stub = maker(path, request_serializer=request_class.SerializeToString, response_deserializer=response_class.FromString)
        metadata = [("authorization", f"Bearer {token}")] if token else []
        return stub(request_class(**fields), metadata=metadata, timeout=30)

    def refused(self, code, service, name, token=None, /, **fields):
        try:
            self.call(service, name, token, **fields)
        except grpc.RpcError as error:
            require(error.code() == code, f"{service}.{name}: {error.code()} instead of {code}: {error.details()}")
            return
        raise Wrong(f"{service}.{name} was allowed; {code} was expected")


def say(text):
    print(text, flush=True)


def two_accounts(server):
    """First account directly (a fresh server on loopback), second by invitation. Gives both access tokens."""
    ines = server.call(
        "AccountService", "CreateAccount", name="ines", password=PASSWORDS["ines"], request_id=str(uuid.uuid4())
    ).tokens.access_token
    server.call("GroupService", "CreateGroup", ines, name="saltmarsh-wheels", title="Saltmarsh Wheels")
    invitation = server.call(
        "GroupService", "CreateInvitation", ines, group="saltmarsh-wheels", right=server.enum("Right", "RIGHT_REVIEWER")
    )
    made = server.call(
        "AccountService", "CreateAccount", name="okoro", password=PASSWORDS["okoro"], invitation_code=invitation.code
    )
    require(made.group == "saltmarsh-wheels", f"the invitation led to the group {made.group!r}")
    say("two accounts, one group")
    return ines, made.tokens.access_token


def submit(server, token, text, name):
    """Submits the text, follows the check to its end and gives the findings."""
    place = {"group": "saltmarsh-wheels", "design": name}
    answer = server.call(
        "DesignService", "SubmitRevision", token, text=text, note="first drawing", request_id=str(uuid.uuid4()), **place
    )
    require(answer.revision.letter == "A", f"the first letter is {answer.revision.letter!r}")
    done = server.enum("CheckState", "CHECK_STATE_DONE")
    last = None
    for last in server.call("FindingService", "WatchCheck", token, letter="A", **place):
        pass
    require(last is not None and last.progress.check_state == done, "the check did not come to its end")
    read_back = server.call("FindingService", "GetFindings", token, letter="A", **place).findings
    require(read_back == last.findings, "the findings of the stream and the stored ones differ")
    say(f"revision A, {len(read_back.checks)} checks")
    return read_back


def compare(server, findings, offline):
    """Every utilisation of the server against the offline ones."""
    mine = {}
    for check in findings.checks:
        kind = server.enum_name("CheckKind", check.kind).removeprefix("CHECK_KIND_").lower()
        mine[check.tag, kind] = check.utilisation
    theirs = {(check["tag"], check["kind"]): check["utilisation"] for check in offline["checks"]}
    require(mine.keys() == theirs.keys(), f"checks differ: {sorted(mine.keys() ^ theirs.keys())[:5]}")
    require(len(theirs) == len(offline["checks"]), "two checks of one tag and kind")
    require(len(mine) > 20, f"only {len(mine)} checks to compare")
    worst = max(abs(mine[key] - theirs[key]) / max(abs(theirs[key]), 1e-30) for key in mine)
    require(worst <= TOLERANCE, f"utilisations differ by {worst:.3g}")
    verdict = server.enum_name("Verdict", findings.verdict).removeprefix("VERDICT_").lower()
    require(verdict == offline["verdict"], f"verdict {verdict} here, {offline['verdict']} offline")
    say(f"{len(mine)} utilisations agree to {worst:.1e}")


def remarks(server, ines, okoro, name, tags):
    """The second account remarks on two members, the first answers, the second clears one."""
    place = {"group": "saltmarsh-wheels", "design": name}
    made = []
    for tag in tags:
        remark = server.call(
            "RemarkService", "CreateRemark", okoro, letter="A", text=f"is {tag} stiff enough?",
            kind=server.enum("RemarkKind", "REMARK_KIND_SNAG"),
            place={"kind": server.enum("PlaceKind", "PLACE_KIND_MEMBER"), "tag": tag}, **place,
        ).remark
        made.append(remark)
    for remark in made:
        answered = server.call(
            "RemarkService", "AnswerRemark", ines, remark={"id": remark.id}, text="a heavier batten is on its way"
        ).remark
        require(answered.state == server.enum("RemarkState", "REMARK_STATE_ANSWERED"), "an answer did not show")
    server.call("RemarkService", "ClearRemark", okoro, remark={"number": {"number": made[0].number, **place}})
    server.refused(grpc.StatusCode.FAILED_PRECONDITION, "RemarkService", "ClearRemark", okoro, remark={"id": made[0].id})
    listed = server.call("RemarkService", "ListRemarks", ines, **place).remarks
    states = {remark.number: server.enum_name("RemarkState", remark.state) for remark in listed}
    require(
        states == {made[0].number: "REMARK_STATE_CLEARED", made[1].number: "REMARK_STATE_ANSWERED"},
        f"remarks read back as {states}",
    )
    say("two remarks, both answered, one cleared")


def main(address, design_file, findings_json):
    with open(design_file, encoding="utf-8") as file:
        text = file.read()
    with open(findings_json, encoding="utf-8") as file:
        offline = json.load(file)
    offline = offline.get("findings", offline)
    server = Server(address)
    services = server.database.get_services()
    require(f"{PACKAGE}.DesignService" in services, f"reflection lists {services}")
    info = server.call("ServerInfoService", "GetServerInfo")
    require(info.engine_fingerprint == offline["engine_fingerprint"], "the two halves run different engines")
    server.refused(grpc.StatusCode.UNAUTHENTICATED, "AccountService", "GetAccount")
    ines, okoro = two_accounts(server)
    name = next(line.split('"')[1] for line in text.splitlines() if line.startswith("name = "))
    findings = submit(server, ines, text, name)
    compare(server, findings, offline)
    tags = list(dict.fromkeys(check.tag for check in findings.checks if check.member_kind not in ("deck", "frame")))[:2]
    remarks(server, ines, okoro, name, tags)
    body = server.call("DesignService", "GetRevisionBody", okoro, group="saltmarsh-wheels", design=name)
    require(body.text == text, "the design file came back changed")
    server.call("AccountService", "SignOut", okoro)
    say("the whole job, read back")


if __name__ == "__main__":
    try:
        main(*sys.argv[1:4])
    except Wrong as wrong:
        print(f"wrong: {wrong}", file=sys.stderr)
        sys.exit(1)
