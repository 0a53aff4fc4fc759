//! The words of Battenboard, each explained in at most three lines. One word stands for one thing everywhere.

/// A word, other words that lead to it, and what it means.
#[derive(Clone, Copy, Debug)]
pub struct Term {
    /// The word.
    pub name: &'static str,
    /// Further words under which it is found.
    pub also: &'static [&'static str],
    /// What it means, at most three lines of 80 columns.
    pub text: &'static str,
}

const fn term(name: &'static str, also: &'static [&'static str], text: &'static str) -> Term {
    Term { name, also, text }
}

/// All words, in the order in which a builder meets them.
pub const TERMS: &[Term] = &[
    term(
        "design",
        &[],
        "One frame for one vehicle, a berth platform for example. It is one file, and has a short name \
         within its build group. What you submit of it is kept as revisions.",
    ),
    term(
        "vehicle",
        &["survey", "plate"],
        "The van, bus or box the frame goes into: its measures, its weighings and the \
         figures of its plate. Each time it is measured anew it gets another survey number.",
    ),
    term(
        "revision",
        &["letter"],
        "A state of a design as it was submitted: A, B, C and so on, without I and O, which look \
         like figures. A revision never changes; what is better becomes the next letter.",
    ),
    term(
        "drawn after",
        &[],
        "Said of a design that was started from somebody's revision, as in \"drawn after Curlew C\". \
         From there on the two go their own ways.",
    ),
    term(
        "worked from",
        &[],
        "The revision you had before you when you made your change. If somebody submitted another one \
         meanwhile, you are told before yours is taken.",
    ),
    term(
        "build group",
        &["group"],
        "The people who share designs with each other. `batten found-group` makes one, \
         `batten let-in` prints a one-time code that lets one more person in.",
    ),
    term(
        "crew",
        &["keeper", "builder", "reviewer", "onlooker", "right"],
        "The people of a build group. An onlooker reads; \
         a reviewer also remarks and answers; a builder also submits; a keeper also looks after the crew.",
    ),
    term(
        "host",
        &[],
        "Whoever runs the server. The host looks after the machine and its data; what is said in a build \
         group is not his business, and he has no right in it.",
    ),
    term(
        "member",
        &["tag"],
        "One straight timber or profile. Its tag (RL, B3, P2) is what you pencil on it; in the file its \
         axis runs from one point to another, and its stock says how thick it is.",
    ),
    term(
        "kind",
        &["kind of a member", "rail", "bearer", "post", "batten", "slat", "brace", "noggin", "edge", "ledger"],
        "What a member does: rail, bearer, post, batten, slat, brace, noggin, edge, ledger, or a word of your own. It \
         only helps the reader; the sums come from sizes and joints.",
    ),
    term(
        "stock",
        &["grade", "class", "timber"],
        "A section and material you can buy: 45x70 in C16, with the lengths it is \
         sold in and its price. Its grade is stamped on it, measured, or assumed until someone looks at the knots.",
    ),
    term(
        "joint",
        &[],
        "Where two members meet; one carries the other. Its tag is made of both: RL/B3 is B3 on RL. In the \
         file it holds as drawn: seated, pinned, rigid, or as you say for each direction.",
    ),
    term(
        "fixing",
        &["screw", "bolt", "dowel", "nail", "insert"],
        "A screw, bolt, dowel, nail or insert in a joint or \
         anchor, with its size, count, spacing and pilot hole. Fixings are not reckoned yet: see to them yourself.",
    ),
    term(
        "anchor",
        &["floor"],
        "Where a member is fixed to the vehicle: floor, rib, wheel arch. Its tag is the member and \
         what it is fixed to: P1/floor. Without anchors nothing holds the frame.",
    ),
    term(
        "restraint",
        &["hold", "rigid", "pinned", "seated", "springy"],
        "The directions in which a joint or anchor holds. \
         Rigid: all, turns too. Pinned: no turns. Seated: screwed flat on another timber, so it also can't roll. Springy: \
         it gives a little.",
    ),
    term(
        "deck",
        &["sheet", "slats"],
        "A surface that people or gear lie on, of slats or of sheet. It carries its load to \
         the members under it, one way: each slat for itself, a sheet by the strip its stiffness gives.",
    ),
    term(
        "stowage",
        &["gear"],
        "A box of gear with a mass and a size, on the floor or on the frame. It weighs on the axles, \
         and on the frame where it lies on it.",
    ),
    term(
        "clear space",
        &[],
        "A box that must stay empty: a hatch, headroom, a hand with a spanner. Whatever enters it is \
         named.",
    ),
    term(
        "headroom",
        &["room"],
        "The clear height from the mattress, as it is lain on, to the ceiling or the deck above. 500 mm let one lie, \
         720 sit bent, 900 sit up. It is known where the file gives the vehicle's inside.",
    ),
    term(
        "sway",
        &["swaying", "leaning"],
        "How the whole frame leans over when someone moves about. The slower it sways, the less there is that stiffens \
         it: a brace, a panel or a wall fixing. Under 3 times a second is too soft.",
    ),
    term(
        "folding",
        &["racking"],
        "A frame folds when posts and rails lean over like a parallelogram or pieces bow out, under so many times its \
         loads. Under 3 times is too near. Racking is the same without any load: nothing stiffens it.",
    ),
    term(
        "hold down",
        &["hold downs"],
        "Where a frame would lift off or tip when loads sit at its edge or when the driver brakes, an anchor must hold it \
         down. The force is what its fixing must carry upwards.",
    ),
    term(
        "load case",
        &["case"],
        "One load that comes and goes by itself: somebody asleep, a knee on the edge, the gear. What \
         is always there (timber, deck, mattress) is the permanent case.",
    ),
    term(
        "combination",
        &["combinations"],
        "Load cases that happen together, each with its safety factor, as EN 1990 asks: \
         more for people than for timber. Every check names the combination that is worst for it.",
    ),
    term(
        "utilisation",
        &["share"],
        "What is asked of a piece over what it can give: 0.71 or 71 % means that it could take \
         nearly half as much again; 1.00 is the limit, and more falls short.",
    ),
    term(
        "verdict",
        &["holds", "near", "falls short", "not checked"],
        "The answer of a check. Holds: up to 0.90. Near: up to \
         1.00, so hold only just. Falls short: more. Not checked: nobody knows, and it says why.",
    ),
    term(
        "weight table",
        &["weight", "payload", "axle"],
        "What the frame, bedding and gear weigh, where their middle lies, \
         what that puts on each axle and what it leaves of the payload. Confirm it on a weighbridge.",
    ),
    term(
        "noticeboard",
        &["notice"],
        "A notice is a builder's wish for a second opinion on a revision; the noticeboard is \
         where notices hang for all who may take them up. `batten ask` hangs one, `batten notices` shows them.",
    ),
    term(
        "take up",
        &["hand back", "take down", "end look"],
        "A reviewer takes up a notice: I look at this one. To hand it back is to say: not after \
         all, somebody else please. Who hung it takes it down; a keeper can end somebody's look.",
    ),
    term(
        "remark",
        &["snag", "advice", "question", "well made"],
        "What a reviewer says of a member, joint, anchor, deck or \
         the whole. A snag must be mended, advice could make it better, a question wants an answer, and what is well made \
         may be said too.",
    ),
    term(
        "proof load",
        &[],
        "A load and a limit that a remark carries, such as 100 kg here and at most 5 mm. The server runs \
         it on this and every later revision.",
    ),
    term(
        "answer",
        &[],
        "What you say to a remark: how you mended it, or why not. It is then answered until its author has \
         had his look.",
    ),
    term(
        "clear",
        &[],
        "To say that a remark is done with: mended, or it no longer matters. Its own author does that; where he \
         has left, another reviewer who has not submitted to the design.",
    ),
    term(
        "raise again",
        &[],
        "To open a remark that was answered or cleared, because it is not mended after \
         all. It says why.",
    ),
    term(
        "set aside",
        &[],
        "What a keeper does with a remark from outside the crew that does not matter here. The reason is shown with it; \
         a keeper can raise it again.",
    ),
    term(
        "looked at",
        &["look", "review"],
        "What a reviewer says of each item, and how: looked at only, the server's sums gone through, or by sums of his \
         own. `batten review` begins with what nobody looked at.",
    ),
    term(
        "own sums",
        &[],
        "Sums that a reviewer makes before he sees the server's. From `batten own-sums begin` on, its figures are kept \
         from him until he ends it; then both stand side by side.",
    ),
    term(
        "record",
        &["reviewer's record"],
        "What somebody has done as a reviewer for other groups, in plain counts: notices taken up, designs concluded on, \
         snags raised and mended. It is no score.",
    ),
    term(
        "show to",
        &["visibility"],
        "Who may see a design, as its keeper says: its group; also everybody here while a notice of it hangs; or all, \
         without an account too. The masses on the vehicle's plate stay with the group.",
    ),
    term(
        "disposition",
        &["conclude"],
        "A reviewer's conclusion on a revision: cut it; cut it with these changes; change it \
         and send it again; don't build this.",
    ),
    term("back-check", &[], "The reviewer's look whether an answered remark was really mended in the later revision."),
    term(
        "to be measured",
        &[],
        "A length or choice that nobody knows yet. Nothing that hangs on it can be issued for \
         cutting.",
    ),
    term(
        "concession",
        &[],
        "A finding that is accepted as it is, signed, with a reason and a date, for this revision. It \
         lapses when its utilisation rises.",
    ),
    term(
        "issued for cutting",
        &["issue for cutting", "stamp", "take back"],
        "The word that this revision is the one to cut. It is refused while a \
         check falls short or a snag is open, unless someone overrides it and writes down why.",
    ),
    term("superseded", &[], "Said of a revision after which another came."),
    term(
        "as-built",
        &[],
        "The revision that was really built, with its masses, sags and pieces as measured. What \
         is measured beats what was assumed.",
    ),
    term(
        "assumptions list",
        &["assumptions", "assumed"],
        "Every default and guess behind the findings: the mass of a \
         person, a grade nobody looked at, joints that hold as drawn. Measure, and the list gets shorter.",
    ),
    term(
        "living",
        &["travelling"],
        "A frame is checked in two modes. Living: parked, with people on it. Travelling: on the \
         road, braking, in bends and over bumps, with gear and nobody on it; an opinion on strength, no crash test.",
    ),
    term(
        "load state",
        &["empty", "touring"],
        "What is aboard when the axles are reckoned. Empty: as weighed, with this \
         frame and its bedding. Touring: with gear and passengers too. Worst: whatever loads an axle most.",
    ),
    term(
        "drawing",
        &["picture"],
        "The picture of a revision: its views, tags and results. `batten check --picture` draws \
         one in characters, from above and from the side.",
    ),
    term(
        "cut list",
        &["cutting plan"],
        "The cut list says which pieces to cut, how long and at which angle; the cutting plan \
         says from which length of stock each one comes.",
    ),
    term(
        "drilling schedule",
        &["fixing schedule"],
        "The drilling schedule says where each hole goes and how wide it is; the \
         fixing schedule which screw or bolt goes into it.",
    ),
    term("purchase list", &[], "What to buy: lengths of stock, sheets, fixings, with their price."),
    term(
        "slimming",
        &[],
        "The search for lighter sections out of timber you can buy, with every check passed. It gives a \
         design file, which you may submit or not.",
    ),
    term(
        "joining line",
        &["join", "fingerprint"],
        "What a server prints for one person: its address, the fingerprint by which its certificate is \
         known, and a one-time code. Send it by a way you trust, not over the network it is for.",
    ),
    term(
        "recovery code",
        &["reset code"],
        "One of ten codes to keep on paper: each sets a new password once, when the old one is \
         forgotten. The host can print a reset code, which does the same for 15 minutes.",
    ),
    term(
        "news",
        &["listen"],
        "What happened since you last looked: remarks, answers, revisions. To listen is to hear it as \
         it happens.",
    ),
];

/// The term of that name, or of one of its further names; letters' case and hyphens don't matter.
pub fn find(name: &str) -> Option<&'static Term> {
    let wanted = plain(name);
    let by_name = TERMS.iter().find(|term| plain(term.name) == wanted);
    by_name.or_else(|| TERMS.iter().find(|term| term.also.iter().any(|also| plain(also) == wanted)))
}

/// Every name a term is found under.
pub fn names() -> impl Iterator<Item = &'static str> {
    TERMS.iter().flat_map(|term| std::iter::once(term.name).chain(term.also.iter().copied()))
}

fn plain(name: &str) -> String {
    name.trim().to_lowercase().replace('-', " ")
}

#[cfg(test)]
#[path = "terms_tests.rs"]
mod tests;
