//! The commented file that a new design starts from.
//!
//! Statics of the three kinds: bearers lie on two rails and are held in all three directions and against rolling; rails
//! lie on posts likewise; posts stand on the floor. That alone would lean over, so the body's ribs hold the rails. No
//! stiff corner is counted on anywhere.

use crate::write::{number, quoted};

/// What kind of frame is begun.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StartKind {
    /// A berth platform: two rails on posts, bearers across.
    Platform,
    /// A settle along the left wall: a ledger on the wall, a front rail on posts.
    Settle,
    /// A sleeping deck on tall posts.
    Mezzanine,
}

/// What was answered before the file is written. The lengths are over zero and the width is more than two timbers;
/// the caller sees to that.
#[derive(Clone, Debug, PartialEq)]
pub struct StartAnswers {
    /// Short name: lower-case letters, digits, hyphens.
    pub name: String,
    /// In the builder's words.
    pub title: String,
    /// What it is.
    pub kind: StartKind,
    /// Length along the vehicle, mm.
    pub length_mm: f64,
    /// Width across the vehicle, mm.
    pub width_mm: f64,
    /// Clear height under the rails, mm.
    pub bay_height_mm: f64,
    /// Width and depth of the timber at hand, mm; it lies with its depth upright.
    pub timber_mm: (f64, f64),
    /// Who sleeps on it.
    pub sleepers: u32,
    /// Strength class, e.g. `C16`.
    pub material: String,
}

/// Where the frame begins behind the front axle, mm: a guess that the file asks to be measured.
const FRONT_MM: f64 = 1500.0;
/// Where the left wall is for a settle, mm from the middle of the vehicle: likewise.
const WALL_MM: f64 = -850.0;
/// Most between two bearers under the 15 mm sheet, mm (common practice, no source: 12 mm carries to 400, but a knee
/// shears it near a bearer).
const BEARER_STEP_MM: f64 = 350.0;
/// Most between two posts or two ribs, mm (P).
const POST_STEP_MM: f64 = 1000.0;
/// Length and width a lying person takes, mm (P, as the engine's patch).
const LYING_MM: (f64, f64) = (1800.0, 450.0);
/// Least distance of a kneeling person's middle from an edge: half a knee of 80 mm and 40 mm (P).
const KNEE_MM: f64 = 80.0;
/// Half of what a sitting person takes from the edge inwards, mm (P).
const SEAT_MM: f64 = 100.0;

/// A row of equal steps that fills a length.
#[derive(Clone, Copy)]
struct Row {
    first: f64,
    count: u32,
    step: f64,
}

impl Row {
    /// At least two, at most `most` apart, from `first` to `last`; steps in half millimetres, as one can measure.
    fn between(first: f64, last: f64, most: f64) -> Self {
        let reach = (last - first).max(1.0);
        let gaps = (reach / most).ceil().clamp(1.0, 100.0);
        let step = ((2.0 * reach / gaps).floor() / 2.0).max(0.5);
        Self { first, count: gaps as u32 + 1, step }
    }

    fn last(&self) -> f64 {
        self.first + f64::from(self.count - 1) * self.step
    }
}

/// The frame in its own directions, mm: along its rails and across them. Rails run along the vehicle, but those of a
/// mezzanine along the longer side, so that its bearers stay short.
struct Measures {
    /// Rails run along y.
    turned: bool,
    width: f64,
    /// Start and end of the rails.
    along: (f64, f64),
    /// Ends of the bearers.
    across: (f64, f64),
    /// End of the deck along the rails: the outer face of the last bearer.
    end: f64,
    rail_z: f64,
    bearer_z: f64,
    bearers: Row,
    posts: Row,
}

impl Measures {
    fn new(answers: &StartAnswers) -> Self {
        let (width, depth) = answers.timber_mm;
        let left = if answers.kind == StartKind::Settle { WALL_MM } else { -0.5 * answers.width_mm };
        let lengthwise = (FRONT_MM, FRONT_MM + answers.length_mm);
        let crosswise = (left, left + answers.width_mm);
        let turned = answers.kind == StartKind::Mezzanine && answers.width_mm > answers.length_mm;
        let (along, across) = if turned { (crosswise, lengthwise) } else { (lengthwise, crosswise) };
        let within = |inset: f64, most: f64| Row::between(along.0 + inset, along.1 - inset, most);
        let bearers = within(0.5 * width, BEARER_STEP_MM);
        let bay = answers.bay_height_mm;
        Self {
            turned,
            width,
            along,
            across,
            end: bearers.last() + 0.5 * width,
            rail_z: bay + 0.5 * depth,
            bearer_z: bay + 1.5 * depth,
            bearers,
            // Posts stand with their depth along x, flush with the rails' ends.
            posts: within(0.5 * if turned { width } else { depth }, POST_STEP_MM),
        }
    }

    /// A point of the frame in vehicle axes.
    fn at(&self, along: f64, across: f64) -> [f64; 2] {
        let point = if self.turned { [across, along] } else { [along, across] };
        point.map(round)
    }

    fn point(&self, along: f64, across: f64, z: f64) -> String {
        let [x, y] = self.at(along, across);
        point(&[x, y, z])
    }

    fn step(&self, row: Row) -> String {
        self.point(row.step, 0.0, 0.0)
    }

    /// Middle lines of the two rails.
    fn rails(&self) -> [f64; 2] {
        [self.across.0 + 0.5 * self.width, self.across.1 - 0.5 * self.width]
    }

    fn middle(&self) -> (f64, f64) {
        (0.5 * (self.along.0 + self.end), 0.5 * (self.across.0 + self.across.1))
    }

    /// Tags of the two rails, and of the posts under them (`None`: that rail is a ledger on the wall).
    fn tags(&self, kind: StartKind) -> [(&'static str, Option<&'static str>); 2] {
        match (kind, self.turned) {
            (StartKind::Settle, _) => [("W", None), ("F", Some("P"))],
            (_, false) => [("RL", Some("PL")), ("RR", Some("PR"))],
            (_, true) => [("RF", Some("PF")), ("RB", Some("PB"))],
        }
    }
}

/// To a tenth of a millimetre.
fn round(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

fn point(values: &[f64]) -> String {
    let numbers: Vec<String> = values.iter().map(|value| number(round(*value))).collect();
    format!("[{}]", numbers.join(", "))
}

/// The starter file: commented, without mistakes, and with everything that was guessed said to be a guess.
pub fn template(answers: &StartAnswers) -> String {
    let measures = Measures::new(answers);
    let parts = [
        head(answers),
        stock(answers),
        members(answers, &measures),
        joints(answers, &measures),
        anchors(answers, &measures),
        deck(answers, &measures),
        people(answers, &measures),
        VEHICLE.to_owned(),
    ];
    parts.concat()
}

const VEHICLE: &str = "
# Fill in what you know of the vehicle, and take the # off: then the axles are reckoned too.
[vehicle]
# name = \"...\"
# wheelbase = 0          # between the axles
# gross_limit = 0        # kg, from the plate; front_limit and rear_limit likewise
# weighed_front = 0      # kg on the weighbridge, driver and fuel aboard, without this frame; weighed_rear likewise
# inside = { from = [1500, -890, 0], to = [4700, 890, 1900] }    # two opposite corners of the clear space

# What you don't know yet: a tag, a stock, \"vehicle\", or without `on` the whole. Each check reminds you of it, and
# nothing that hangs on it is issued for cutting.
# [[to_be_measured]]
# on = \"B1\"
# what = \"wall to wheel arch\"
";

fn head(answers: &StartAnswers) -> String {
    let (name, title) = (quoted(&answers.name), quoted(&answers.title));
    let place = match answers.kind {
        StartKind::Settle => "It begins 1500 behind the front axle, at a wall 850 left of the middle: guesses",
        StartKind::Platform | StartKind::Mezzanine => "It begins 1500 behind the front axle, in the middle: a guess",
    };
    format!(
        "# Bare numbers are mm, kg and degrees. x runs rearwards from the front axle, y to the right, z up from the floor.
# {place}.
# Measure where yours stands and move the numbers. After each change, check the file again.
format = 1
name = {name}
title = {title}
"
    )
}

fn stock_name(answers: &StartAnswers) -> String {
    quoted(&format!("{}x{}", number(answers.timber_mm.0), number(answers.timber_mm.1)))
}

fn stock(answers: &StartAnswers) -> String {
    let (width, depth) = (number(answers.timber_mm.0), number(answers.timber_mm.1));
    let (name, material) = (stock_name(answers), quoted(&answers.material));
    // The next deeper size, so that a mend can be found where the timber at hand falls short.
    let deeper = number(answers.timber_mm.1 + 25.0);
    let spare = quoted(&format!("{width}x{deeper}"));
    format!(
        "
# What you can buy. The depth stands upright. The grade is \"assumed\" until somebody has looked: then \"stamped\" (by
# the mark on the timber) or \"measured\". You may add `lengths = [2400, 3000]` and `price = 3.20` (a metre).
stock = [
  {{ name = {name}, section = {{ width = {width}, depth = {depth} }}, material = {material}, grade = \"assumed\" }},
  {{ name = {spare}, section = {{ width = {width}, depth = {deeper} }}, material = {material}, grade = \"assumed\" }},
]
"
    )
}

fn member(answers: &StartAnswers, tag: &str, kind: &str, from: &str, to: &str) -> String {
    format!("  {{ tag = \"{tag}\", kind = \"{kind}\", stock = {}, from = {from}, to = {to}", stock_name(answers))
}

fn members(answers: &StartAnswers, m: &Measures) -> String {
    let bay = answers.bay_height_mm;
    let mut text = "
# Straight timbers, from the start of their middle line to its end. A tag with * is a row of `count`, each moved by
# `step` from the one before: B* is B1, B2 and so on.
members = [
"
    .to_owned();
    for ((rail, posts), across) in m.tags(answers.kind).into_iter().zip(m.rails()) {
        let kind = if posts.is_some() { "rail" } else { "ledger" };
        let (from, to) = (m.point(m.along.0, across, m.rail_z), m.point(m.along.1, across, m.rail_z));
        text.push_str(&format!("{} }},\n", member(answers, rail, kind, &from, &to)));
        let Some(posts) = posts else { continue };
        let (foot, head) = (m.point(m.posts.first, across, 0.0), m.point(m.posts.first, across, bay));
        let post = member(answers, &format!("{posts}*"), "post", &foot, &head);
        text.push_str(&format!("{post}, count = {}, step = {} }},\n", m.posts.count, m.step(m.posts)));
    }
    let from = m.point(m.bearers.first, m.across.0, m.bearer_z);
    let to = m.point(m.bearers.first, m.across.1, m.bearer_z);
    let bearers = member(answers, "B*", "bearer", &from, &to);
    let (count, step) = (m.bearers.count, m.step(m.bearers));
    text.push_str("  # bearers lie on the rails: their middle is one depth of timber above the rails' middle\n");
    text.push_str(&format!("{bearers}, count = {count}, step = {step} }},\n]\n"));
    text
}

fn joints(answers: &StartAnswers, m: &Measures) -> String {
    let tags = m.tags(answers.kind);
    let on_posts = tags
        .iter()
        .filter_map(|(rail, posts)| posts.map(|posts| format!("  {{ member = \"{rail}\", on = \"{posts}*\" }},\n")));
    format!(
        "
# Where members meet, face on face. If nothing else is said a joint is `hold = \"seated\"`: one timber screwed flat on
# another. It can't shift or roll, but it is no stiff corner.
joints = [
  {{ member = \"B*\", on = [\"{}\", \"{}\"] }},
{}]
",
        tags[0].0,
        tags[1].0,
        on_posts.collect::<String>()
    )
}

fn anchors(answers: &StartAnswers, m: &Measures) -> String {
    let tags = m.tags(answers.kind);
    let posts: Vec<String> = tags.iter().filter_map(|(_, posts)| posts.map(|posts| format!("\"{posts}*\""))).collect();
    let feet = format!(
        "  # ASSUMED: an angle and two screws at each foot, so it can't shift or twist; not counted on against leaning
  {{ member = [{}], at = \"start\", to = \"floor\", hold = {{ x = \"rigid\", y = \"rigid\", z = \"rigid\", turn_z = \"rigid\" }} }},
",
        posts.join(", ")
    );
    let length = m.along.1 - m.along.0;
    let inset = (1.5 * m.width).min(0.25 * length);
    let ribs = Row::between(inset, length - inset, POST_STEP_MM);
    let at: Vec<f64> = (0..ribs.count).map(|index| ribs.first + f64::from(index) * ribs.step).collect();
    let held = match answers.kind {
        StartKind::Settle => {
            format!(
                "  # ASSUMED: the wall's ribs give nothing; two screws in each, one above the other. Move `at` to your ribs
  {{ member = \"W\", at = {}, to = \"rib\", hold = {{ x = \"rigid\", y = \"rigid\", z = \"rigid\", turn_x = \"rigid\" }} }},
  # ASSUMED: a partition the front rail is fixed to. The bearers hold it across, only this along the vehicle
  {{ member = \"F\", at = \"start\", to = \"partition\", hold = {{ x = \"rigid\" }} }},
",
                point(&at)
            )
        }
        StartKind::Platform | StartKind::Mezzanine => format!(
            "  # ASSUMED: the body's ribs hold both rails along and across the vehicle, with no weight on them. Posts on seated
  # joints would lean over without: then you need braces or stiff corners. Move `at` to your ribs
  {{ member = [\"{}\", \"{}\"], at = {}, to = \"rib\", hold = {{ x = \"rigid\", y = \"rigid\" }} }},
",
            tags[0].0,
            tags[1].0,
            point(&at)
        ),
    };
    format!(
        "\n# Where the frame is fixed to the vehicle; `at` is from the member's start.\nanchors = [\n{feet}{held}]\n"
    )
}

fn deck(answers: &StartAnswers, m: &Measures) -> String {
    let bedding = number(9.0 * f64::from(answers.sleepers));
    let (from, to) = (point(&m.at(m.along.0, m.across.0)), point(&m.at(m.end, m.across.1)));
    format!(
        "
# A sheet, screwed to every bearer; the grain of its face runs across them, from bearer to bearer. Or of slats:
# `slats = {{ stock = \"18x70\", gap = 50 }}`. The bedding is the mattress and all that lies on it, kg.
[[decks]]
tag = \"D1\"
sheet = {{ material = \"birch plywood\", thickness = 15, grain = \"across\" }}
carried_by = \"B*\"
from = {from}
to = {to}
bedding = {bedding}

# Gear on the floor below, one entry a box; `at` is its middle.
# [[stowage]]
# name = \"...\"
# mass = 20
# at = [2000, 0, 150]
# size = [600, 400, 300]
"
    )
}

fn entry(name: &str, posture: &str, at: &[[f64; 2]], heads: Option<&str>) -> String {
    let at: Vec<String> = at.iter().map(|at| point(at)).collect();
    let heads = heads.map(|heads| format!("heads = \"{heads}\"\n")).unwrap_or_default();
    let at = at.join(", ");
    format!("\n[[people]]\nname = \"{name}\"\nposture = \"{posture}\"\ndeck = \"D1\"\nat = [{at}]\n{heads}")
}

fn people(answers: &StartAnswers, m: &Measures) -> String {
    let (along, across) = m.middle();
    let one = |name: &str, posture: &str, along: f64, across: f64| entry(name, posture, &[m.at(along, across)], None);
    let first = one("a knee on the first bearer", "kneeling", m.along.0 + KNEE_MM, across);
    let edge = match answers.kind {
        StartKind::Settle => one("sitting on the front edge", "sitting", along, m.across.1 - SEAT_MM),
        StartKind::Platform => one("a knee at the side", "kneeling", along, m.across.1 - KNEE_MM),
        StartKind::Mezzanine => one("climbing in over the last bearer", "kneeling", m.end - KNEE_MM, across),
    };
    format!(
        "\n# People, 100 kg each unless `mass` says otherwise. Each entry is one thing they do at a time.{}{}{first}{edge}",
        asleep(answers, m),
        one("a knee in the middle", "kneeling", along, across)
    )
}

/// Sleepers side by side, lengthwise if the deck is long enough, else across; else a line that says why nobody lies.
fn asleep(answers: &StartAnswers, m: &Measures) -> String {
    if answers.sleepers == 0 {
        return "\n".to_owned();
    }
    let [from, to] = [m.at(m.along.0, m.across.0), m.at(m.end, m.across.1)];
    let room = [to[0] - from[0], to[1] - from[1]];
    let (long, wide) = LYING_MM;
    // The axis the sleepers lie beside each other on.
    let Some(beside) = [1, 0].into_iter().find(|beside| room[1 - *beside] >= long && room[*beside] >= wide) else {
        return "\n# Nobody lies here yet: a lying person takes 1800 by 450.\n".to_owned();
    };
    let fit = answers.sleepers.min((room[beside] / wide).floor().clamp(1.0, 8.0) as u32);
    let place = |index: u32| {
        let mut at = [0.5 * (from[0] + to[0]), 0.5 * (from[1] + to[1])];
        at[beside] = from[beside] + room[beside] * (f64::from(index) + 0.5) / f64::from(fit);
        at
    };
    let at: Vec<[f64; 2]> = (0..fit).map(place).collect();
    let few = fit < answers.sleepers;
    let said = if few { "\n# There is no room for more: a lying person takes 1800 by 450.\n" } else { "\n" };
    let name = if fit == 1 { "asleep" } else { "all asleep" };
    let heads = if beside == 1 { "front" } else { "left" };
    format!("{said}{}", entry(name, "lying", &at, Some(heads)))
}
