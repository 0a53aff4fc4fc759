//! `[check]`: what the checks assume instead of the defaults.

use crate::desk::Desk;
use crate::fields::Fields;
use crate::unit::Kind;
use battenboard_engine::design::Settings;

const CHECK: [&str; 6] = ["service_class", "person", "gamma_permanent", "gamma_variable", "span_over_sag", "road"];

/// What the five figures of `road` are.
const ROAD: &str = "five accelerations in g [forward, rearward, sideways, down in all, up net of weight]";

pub(crate) fn read(desk: &mut Desk<'_>, root: &Fields<'_>) -> Settings {
    let Some(node) = root.get("check") else { return Settings::default() };
    if matches!(node.value, toml::de::DeValue::Array(_)) {
        let draft = node.draft("`check` is one table, here is a list of them");
        desk.say(draft.mend("write `[check]` with one bracket on each side"));
        return Settings::default();
    }
    let Some(fields) = Fields::open(desk, &node, "the check's settings", &CHECK) else { return Settings::default() };
    let class = fields.get("service_class").and_then(|node| node.whole(desk, 1, 3));
    Settings {
        service_class: class.and_then(|class| u8::try_from(class).ok()),
        person_kg: fields.number(desk, "person", Kind::Mass),
        gamma_permanent: fields.number(desk, "gamma_permanent", Kind::Factor),
        gamma_variable: fields.number(desk, "gamma_variable", Kind::Factor),
        span_over_sag: fields.number(desk, "span_over_sag", Kind::Factor),
        road_g: fields.get("road").and_then(|node| node.numbers(desk, [Kind::Factor; 5], ROAD)),
    }
}
