//! `why`: who presses on a member, where the load goes, the sum, the clause, what is assumed, what would mend it.

use super::columns::{Side, table};
use super::load_path::{LoadPath, first_greatest, load_path};
use super::sheet::Sheet;
use super::{figures, places, whole, whole_screen, words};
use battenboard_engine::design::{DeckSurface, Design, Posture, anchor_tags, depends_on};
use battenboard_engine::findings::{
    Assumption, AssumptionCode, Check, CheckKind, Combination, Findings, LimitState, PointForces, StateResults,
};

/// Explains a member or deck that has at least one check; joints and anchors get their greatest force.
pub fn why(design: &Design, findings: &Findings, tag: &str, width: usize) -> Sheet {
    let mut sheet = Sheet::new(width);
    if tag == whole::TAG && places::member(design, tag).is_none() {
        whole_screen::whole_frame(&mut sheet, findings);
        all_checks(&mut sheet, findings, tag);
        not_checked(&mut sheet, findings, tag);
        return sheet;
    }
    match findings.checks.iter().find(|check| check.tag == tag) {
        Some(worst) => {
            head(&mut sheet, design, &words::felt(worst, &findings.checks));
            way(&mut sheet, design, findings, worst);
            sum(&mut sheet, worst);
            all_checks(&mut sheet, findings, tag);
        }
        None => without_check(&mut sheet, design, findings, tag),
    }
    of_this_one(&mut sheet, design, findings, tag);
    assumed(&mut sheet, design, findings, tag);
    not_checked(&mut sheet, findings, tag);
    if let Some(worst) = findings.checks.iter().find(|check| check.tag == tag) {
        mend(&mut sheet, worst);
    }
    sheet
}

fn head(sheet: &mut Sheet, design: &Design, worst: &Check) {
    let what = places::member(design, &worst.tag).map_or_else(
        || words::sentence(&places::named(design, &worst.tag)),
        |member| {
            let length = figures::length(places::length_mm(member));
            format!("{} {}, {} of {}", words::sentence(&member.kind), member.tag, length, member.stock)
        },
    );
    sheet.paragraph(&format!(
        "{what}. {} {}.",
        words::verdict(worst.verdict),
        words::sentence(&words::check_says(worst))
    ));
    sheet.paragraph(&format!("What happens: {}.", words::check_meaning(worst)));
}

fn way(sheet: &mut Sheet, design: &Design, findings: &Findings, worst: &Check) {
    let Some((state, combination)) = as_it_comes(findings, worst) else { return };
    let start = if places::member(design, &worst.tag).is_some() {
        worst.tag.clone()
    } else {
        most_loaded_under(design, state, &worst.tag).unwrap_or_default()
    };
    if places::member(design, &start).is_none() {
        return;
    }
    let path = load_path(design, state, &start);
    sheet.blank();
    // The road is only asked for strength, so its loads are there with safety factors.
    let factors = match combination.limit_state {
        LimitState::Strength => "safety factors counted in",
        LimitState::SagInstant | LimitState::SagFinal => "without safety factors",
    };
    sheet.paragraph(&format!("The way of the load, {factors}, under: {}", combination.name));
    for (deck, people) in decks_over(design, combination, &path.top) {
        people.iter().for_each(|line| sheet.hanging("  ", line));
        sheet.hanging("  ", &deck);
    }
    sheet.hanging(
        "  ",
        &format!(
            "{}: {} from above and its own weight",
            places::named(design, &path.top),
            figures::force(path.top_load_n)
        ),
    );
    steps(sheet, design, &path);
}

fn steps(sheet: &mut Sheet, design: &Design, path: &LoadPath) {
    for step in path.above.iter().chain(&path.below) {
        let to = if step.vehicle { step.to.clone() } else { places::named(design, &step.to) };
        let mut text = format!("{to}: {} at {}", figures::force(step.force_n), step.at);
        if step.elsewhere_n > 0.05 * step.force_n {
            text.push_str(&format!("; {} goes elsewhere", figures::force(step.elsewhere_n)));
        }
        sheet.hanging("  -> ", &text);
    }
    if !path.below.last().is_some_and(|step| step.vehicle) {
        sheet.hanging("  -> ", "from there it goes on sideways, not straight down");
    }
}

/// What the governing combination of a check is for.
fn limit_state(check: &Check) -> LimitState {
    match check.kind {
        CheckKind::SagInstant | CheckKind::SagStated => LimitState::SagInstant,
        CheckKind::SagFinal => LimitState::SagFinal,
        // A deck's sag is judged at once and in the end, whichever is worse; its clause tells.
        CheckKind::DeckSag if check.clause.contains("2.2.3") => LimitState::SagFinal,
        CheckKind::DeckSag => LimitState::SagInstant,
        _ => LimitState::Strength,
    }
}

/// The loads of a check's governing combination as they come, without safety factors and creep, and their forces: the
/// same loads are combined for sag at once under the same name, or that of strength says after a semicolon how the own
/// weight was taken. What happens on the road is only combined for strength.
fn as_it_comes<'f>(findings: &'f Findings, check: &Check) -> Option<(&'f StateResults, &'f Combination)> {
    let same = |name: &str| {
        let rest = check.combination.strip_prefix(name);
        rest.is_some_and(|rest| rest.is_empty() || rest.starts_with("; "))
    };
    let combination_of = |wanted: LimitState| {
        let combinations = findings.combinations.iter().filter(|item| item.limit_state == wanted && same(&item.name));
        combinations.max_by_key(|item| item.name.len())
    };
    let combination = combination_of(LimitState::SagInstant).or_else(|| combination_of(LimitState::Strength))?;
    let of_it =
        |state: &&StateResults| state.limit_state == Some(combination.limit_state) && state.name == combination.name;
    findings.results.as_ref()?.states.iter().find(of_it).map(|state| (state, combination))
}

/// The member under a deck that is held by the greatest force.
fn most_loaded_under(design: &Design, state: &StateResults, deck: &str) -> Option<String> {
    let deck = design.decks.iter().find(|item| item.tag == deck)?;
    let load = |tag: &String| load_path(design, state, tag).top_load_n;
    first_greatest(deck.carried_by.iter(), |tag| load(tag)).cloned()
}

/// Each deck over a member, in words, with the people who are on it in this combination.
fn decks_over(design: &Design, combination: &Combination, tag: &str) -> Vec<(String, Vec<String>)> {
    let decks = design.decks.iter().filter(|deck| deck.carried_by.iter().any(|member| member == tag));
    decks
        .map(|deck| {
            let on_it = design.people.iter().filter(|people| people.deck == deck.tag);
            let people = on_it.filter_map(|people| {
                let factor = combination.terms.iter().find(|term| term.name == people.name)?.value;
                let mass = people.mass_kg.or(design.settings.person_kg).unwrap_or(DEFAULT_PERSON_KG);
                let posture = match people.posture {
                    Posture::Lying => "lying",
                    Posture::Sitting => "sitting",
                    Posture::Kneeling => "on one knee",
                };
                let count = people.at_mm.len().max(1);
                let (who, each) =
                    if count == 1 { ("one person".to_owned(), "") } else { (format!("{count} persons"), " each") };
                let part = if (factor - 1.0).abs() < 1e-9 {
                    String::new()
                } else {
                    // A load that comes beside a greater one (psi_0 of EN 1990).
                    format!(", {} of it beside the main load", figures::factor(factor))
                };
                Some(format!("{}: {who} {posture}, {}{each}{part}", people.name, figures::kilograms(mass)))
            });
            (surface(&deck.tag, &deck.surface), people.collect())
        })
        .collect()
}

/// The project's default mass of a person (common practice, no source); the findings list it as an assumption.
const DEFAULT_PERSON_KG: f64 = 100.0;

fn surface(tag: &str, surface: &DeckSurface) -> String {
    match surface {
        DeckSurface::Slats { stock, gap_mm } => {
            format!("-> deck {tag}: slats of {stock}, {} apart", figures::length(*gap_mm))
        }
        DeckSurface::Sheet { material, thickness_mm, grain_across: _ } => {
            format!("-> deck {tag}: {} of {material}", figures::sag(*thickness_mm))
        }
    }
}

fn sum(sheet: &mut Sheet, worst: &Check) {
    sheet.blank();
    let asked = figures::in_unit(worst.demand, &worst.unit);
    let given = figures::in_unit(worst.resistance, &worst.unit);
    let text = if worst.unit == "1" {
        format!("its shares add up to {asked}; {given} is the limit")
    } else {
        format!("{asked} is asked, {given} can be given: {}", figures::utilisation(worst.utilisation))
    };
    sheet.hanging("The sum: ", &text);
    let forces = &worst.forces;
    let mut parts = Vec::new();
    for (name, n_mm) in [("bent by", forces.my_n_mm), ("sideways by", forces.mz_n_mm), ("twisted by", forces.t_n_mm)] {
        if n_mm.abs() >= 500.0 {
            parts.push(format!("{name} {}", figures::moment(n_mm)));
        }
    }
    let along = if forces.n_n >= 0.0 { "pulled by" } else { "pressed by" };
    for (name, newtons) in [(along, forces.n_n), ("sheared by", forces.vz_n), ("sheared sideways by", forces.vy_n)] {
        if newtons.abs() >= 1.0 {
            parts.push(format!("{name} {}", figures::force(newtons)));
        }
    }
    if !parts.is_empty() {
        let counted = match limit_state(worst) {
            LimitState::Strength => " (safety factors counted in)",
            LimitState::SagInstant => "",
            LimitState::SagFinal => " (creep counted in)",
        };
        sheet.hanging("Forces:  ", &format!("{}{counted}", parts.join(", ")));
    }
    sheet.hanging("Clause:  ", &worst.clause);
    if !worst.factors.is_empty() {
        let list: Vec<String> =
            worst.factors.iter().map(|f| format!("{}\u{a0}{}", f.name, figures::factor(f.value))).collect();
        sheet.hanging("With:    ", &list.join(", "));
    }
}

fn all_checks(sheet: &mut Sheet, findings: &Findings, tag: &str) {
    let rows: Vec<Vec<String>> = findings
        .checks
        .iter()
        .filter(|check| check.tag == tag)
        .map(|check| {
            vec![
                words::check_name(check.kind).to_owned(),
                figures::utilisation(check.utilisation),
                words::verdict_word(check.verdict).to_owned(),
                check.combination.clone(),
            ]
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    sheet.blank();
    let heads = [("check", Side::Left), ("of 1.00", Side::Right), ("verdict", Side::Left), ("under", Side::Left)];
    table(sheet, &heads, &rows);
    sheet.blank();
}

fn without_check(sheet: &mut Sheet, design: &Design, findings: &Findings, tag: &str) {
    let named = words::sentence(&places::named(design, tag));
    let joint = design.joints.iter().any(|joint| places::joint_tag(joint) == tag);
    let anchor = anchor_tags(design).iter().any(|anchor| anchor == tag);
    if !(joint || anchor) {
        sheet.paragraph(&format!("{named} was not checked."));
        return;
    }
    let Some((state, forces)) = greatest_force(findings, tag) else {
        sheet.paragraph(&format!("{tag}: no forces were computed."));
        return;
    };
    let what = if joint { "Joint" } else { "Anchor" };
    let [x, y, z] = forces.force_n;
    let down = if z >= 0.0 { "carries" } else { "holds down" };
    sheet.paragraph(&format!(
        "{what} {tag} {down} {} at most, safety factors counted in, under: {state}.",
        figures::force(z)
    ));
    for (name, newtons) in [("Along the vehicle", x), ("Across the vehicle", y)] {
        if newtons.abs() >= 1.0 {
            sheet.paragraph(&format!("{name} it takes {} then.", figures::force(newtons)));
        }
    }
    if let Some(share) = findings.shares.iter().find(|share| share.anchor == tag) {
        sheet.paragraph(&format!(
            "Without safety factors: {} by computation ({}); {} if all points shared alike.",
            figures::kilograms(share.computed_kg),
            share.combination,
            figures::kilograms(share.equal_kg)
        ));
    }
}

/// Room over a deck; what an anchor, or the anchors of a member, must hold down.
fn of_this_one(sheet: &mut Sheet, design: &Design, findings: &Findings, tag: &str) {
    for item in findings.headroom.iter().filter(|item| item.deck == tag) {
        let pressed = if item.mattress_mm > 0.0 {
            format!("; the mattress is {} thick when lain on", figures::length(item.mattress_mm))
        } else {
            String::new()
        };
        sheet.hanging("Room: ", &format!("{}{pressed}.", whole::headroom(item)));
    }
    let tags = anchor_tags(design);
    let on_it = |anchor: &str| {
        let place = tags.iter().position(|t| t == anchor);
        anchor == tag || place.is_some_and(|place| design.anchors[place].member == tag)
    };
    for item in findings.hold_downs.iter().filter(|item| on_it(&item.anchor)) {
        let text = format!("{}, safety factors counted in, under: {}.", whole::hold_down(item), item.combination);
        sheet.paragraph(&text);
    }
}

fn greatest_force<'f>(findings: &'f Findings, tag: &str) -> Option<(&'f str, &'f PointForces)> {
    let strength = |state: &&StateResults| state.limit_state == Some(LimitState::Strength);
    let states = findings.results.as_ref()?.states.iter().filter(strength);
    let points = states
        .flat_map(|state| state.joints.iter().chain(&state.reactions).map(move |point| (state.name.as_str(), point)));
    first_greatest(points.filter(|(_, point)| point.tag == tag), |(_, point)| size(point))
}

fn size(point: &PointForces) -> f64 {
    point.force_n.iter().map(|part| part * part).sum()
}

fn assumed(sheet: &mut Sheet, design: &Design, findings: &Findings, tag: &str) {
    let stock = places::member(design, tag).map_or("", |member| member.stock.as_str());
    let mut label = "Assumed: ";
    let waits = waits_for(design, tag);
    for item in findings.assumptions.iter().filter(|item| matters_to_one(item.code)) {
        // Only what is about this one; a general assumption is about everything.
        let about: Vec<String> = match item.code {
            AssumptionCode::ToBeMeasured if waits.contains(&item.about) => item.about.clone(),
            AssumptionCode::ToBeMeasured => Vec::new(),
            _ => item.about.iter().filter(|name| is_about(name, tag, stock)).cloned().collect(),
        };
        if about.is_empty() && !item.about.is_empty() {
            continue;
        }
        let about = Assumption { code: item.code, about, value: item.value };
        let text = format!("{}: {}", words::assumption(&about), words::assumption_advice(item.code));
        sheet.hanging(label, &text);
        label = "         ";
    }
}

/// What is to be measured before this member, deck, joint or anchor is known, as the assumptions say it: tag and text.
fn waits_for(design: &Design, tag: &str) -> Vec<Vec<String>> {
    let waits = depends_on(design);
    let named = design.to_be_measured.iter().enumerate().filter(|(index, item)| {
        waits.get(tag).is_some_and(|entries| entries.contains(index)) || item.tag == tag || item.tag.is_empty()
    });
    named.map(|(_, item)| vec![item.tag.clone(), item.what.clone()]).collect()
}

/// Whether a name of an assumption (a tag, a stock, a stock with its class) is about this tag.
fn is_about(name: &str, tag: &str, stock: &str) -> bool {
    let of_stock =
        !stock.is_empty() && (name == stock || name.strip_prefix(stock).is_some_and(|rest| rest.starts_with(' ')));
    name == tag || of_stock || of_joint(name, tag)
}

/// Assumptions that say something of a single member, joint or anchor.
fn matters_to_one(code: AssumptionCode) -> bool {
    !matches!(code, AssumptionCode::FixingsShare | AssumptionCode::FromMemory | AssumptionCode::PeopleGiven)
}

/// True when a joint or anchor tag (`RL/B3`, `P1/floor`) is about a member.
fn of_joint(name: &str, tag: &str) -> bool {
    name.split('/').any(|part| part == tag)
}

fn not_checked(sheet: &mut Sheet, findings: &Findings, tag: &str) {
    let mut kinds: Vec<_> = findings
        .not_checked
        .iter()
        .filter(|item| item.tag == tag || of_joint(&item.tag, tag))
        .map(|item| item.what)
        .collect();
    kinds.sort_unstable();
    kinds.dedup();
    let list: Vec<&str> = kinds.into_iter().map(words::unchecked_long).collect();
    if !list.is_empty() {
        sheet.hanging("Not checked: ", &format!("{}.", list.join("; ")));
    }
}

fn mend(sheet: &mut Sheet, worst: &Check) {
    if let Some(mend) = &worst.mend {
        sheet.hanging("Mend: ", &format!("{}.", words::mend(mend)));
        if let Some(tag) = mend.members.first() {
            let target = if mend.members.len() > 1 { format!("'{}*'", places::row(tag)) } else { tag.clone() };
            sheet.hanging("Next: ", &format!("batten try {target} {}", mend.to_stock));
        }
    }
}

#[cfg(test)]
#[path = "why_screen_tests.rs"]
mod tests;
