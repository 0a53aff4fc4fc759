//! `[[to_be_measured]]`: what is not known yet, and on what.

use crate::TO_BE_MEASURED_LIMIT;
use crate::desk::Desk;
use crate::fields::Fields;
use crate::lines::shorten;
use crate::pattern::{fits, is_sound, prefix};
use crate::places::Origin;
use crate::tags::with_near;
use crate::value::Node;
use battenboard_engine::design::to_be_measured::measurable;
use battenboard_engine::design::{Design, ToBeMeasured};
use battenboard_engine::nearest::nearest;
use std::collections::BTreeSet;
use toml::de::DeValue;

const TO_BE_MEASURED: [&str; 2] = ["on", "what"];

/// What may be named, and whether all of it is known.
struct Names<'d> {
    known: BTreeSet<String>,
    design: &'d Design,
    /// False once a tag or name could not be read: then an unknown one is no news.
    complete: bool,
}

/// The entries of a design whose other parts are read, rows written out; at most [`TO_BE_MEASURED_LIMIT`].
pub(crate) fn read(
    desk: &mut Desk<'_>,
    root: &Fields<'_>,
    design: &Design,
    complete: bool,
) -> (Vec<ToBeMeasured>, Vec<Origin>) {
    let nodes = root.tables(desk, "to_be_measured", TO_BE_MEASURED_LIMIT);
    let (mut entries, mut origins) = (Vec::new(), Vec::new());
    if nodes.is_empty() {
        return (entries, origins);
    }
    let names = Names { known: measurable(design), design, complete };
    for (item, node) in nodes.iter().enumerate() {
        let Some(fields) = Fields::open(desk, node, "an entry of to_be_measured", &TO_BE_MEASURED) else { continue };
        let what = fields.need_text(desk, "what", "\"wall to wheel arch\"");
        let Some(on) = fields.get("on") else {
            origins.push(Origin::new(item));
            entries.push(ToBeMeasured { tag: String::new(), what });
            continue;
        };
        for node in listed(desk, &on) {
            for tag in names.of(desk, &node) {
                if entries.len() == TO_BE_MEASURED_LIMIT {
                    let message =
                        format!("more than {TO_BE_MEASURED_LIMIT} things are to be measured, rows written out");
                    desk.say(node.draft(message).mend("say it of the stock, the vehicle or the whole"));
                    return (entries, origins);
                }
                let mut origin = Origin::new(item);
                origin.picks.push(("tag", None, node.span.clone()));
                origins.push(origin);
                entries.push(ToBeMeasured { tag, what: what.clone() });
            }
        }
    }
    (entries, origins)
}

/// One name, or a list of them.
fn listed<'a>(desk: &mut Desk<'_>, on: &Node<'a>) -> Vec<Node<'a>> {
    let DeValue::Array(items) = on.value else { return vec![on.clone()] };
    if items.is_empty() {
        let draft = on.draft("`on` is an empty list");
        desk.say(draft.mend("name at least one thing; for the whole leave `on` out"));
        return Vec::new();
    }
    if items.len() > TO_BE_MEASURED_LIMIT {
        desk.say(on.draft(format!("`on` names {} things, at most {TO_BE_MEASURED_LIMIT} are read", items.len())));
        return Vec::new();
    }
    on.items(desk, "tags")
}

impl Names<'_> {
    /// The names that one text stands for: itself, or the members of its pattern. Said where there are none.
    fn of(&self, desk: &mut Desk<'_>, node: &Node<'_>) -> Vec<String> {
        let Some(name) = node.text(desk) else { return Vec::new() };
        if name.is_empty() || self.known.contains(&name) {
            return vec![name];
        }
        let row: Vec<String> = match prefix(&name).filter(|_| is_sound(&name)) {
            Some(prefix) => self.row(prefix),
            None => Vec::new(),
        };
        if row.is_empty() && self.complete {
            let what =
                if name.ends_with('*') { "fits no member" } else { "is no member, joint, anchor, deck or stock" };
            let draft = node.draft(format!("`{}` in `on` {what}", shorten(&name)));
            let near = nearest(&name, self.known.iter().map(String::as_str)).filter(|_| desk.suggests());
            desk.say(match near {
                Some(near) => with_near(draft, Some(near.to_owned())),
                None => draft.mend("name one of them or `vehicle`; for the whole leave `on` out"),
            });
        }
        row
    }

    fn row(&self, prefix: &str) -> Vec<String> {
        let members = self.design.members.iter().filter(|member| fits(prefix, &member.tag));
        members.map(|member| member.tag.clone()).take(TO_BE_MEASURED_LIMIT + 1).collect()
    }
}
