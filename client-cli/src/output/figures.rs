//! Numbers as a builder reads them: two figures where the timber's grade is a guess, the unit always beside them.
//!
//! Spaces between a number and its unit are no-break spaces; the wrapping turns them into plain ones.

/// A share of what can be carried: `71 %`; over the limit `1.2 times`.
pub fn share(utilisation: f64) -> String {
    if utilisation.is_nan() {
        return "an unknown part".into();
    }
    if utilisation > 1.0 + 5e-7 {
        return match utilisation {
            u if u < 1.05 => "just over".into(),
            u if u >= 99.5 => "over 99\u{a0}times".into(),
            u => format!("{}\u{a0}times", two(u)),
        };
    }
    let percent = utilisation.max(0.0) * 100.0;
    // A value under the limit is never shown as the limit.
    let shown = if percent > 99.0 && percent < 99.9999 { 99.0 } else { percent.round() };
    if percent > 0.0 && shown < 1.0 { "under 1\u{a0}%".into() } else { format!("{shown:.0}\u{a0}%") }
}

/// What a check's demand is of its resistance, as the end of a sentence: `71 % of what it can carry`.
pub fn share_of_capacity(utilisation: f64) -> String {
    if utilisation > 1.0 + 5e-7 {
        format!("{} what it can carry", share(utilisation))
    } else {
        format!("{} of what it can carry", share(utilisation))
    }
}

/// A mass: whole kilograms from 10 on, tenths below.
pub fn kilograms(mass_kg: f64) -> String {
    format!("{}\u{a0}kg", tenths_below_ten(mass_kg))
}

/// A change of mass with its sign in words: `1.3 kg more`, `2 kg less`, `no change in weight`.
pub fn kilograms_more(change_kg: f64) -> String {
    match tenths_below_ten(change_kg.abs()).as_str() {
        "0" => "no change in weight".into(),
        figure if change_kg < 0.0 => format!("{figure}\u{a0}kg less"),
        figure => format!("{figure}\u{a0}kg more"),
    }
}

/// A sag: tenths of a millimetre below 10.
pub fn sag(mm: f64) -> String {
    format!("{}\u{a0}mm", tenths_below_ten(mm))
}

/// A length or place: whole millimetres.
pub fn length(mm: f64) -> String {
    format!("{}\u{a0}mm", whole(mm))
}

/// A force in newtons or kilonewtons, with the mass that would press as hard: `450 N (46 kg)`.
pub fn force(newtons: f64) -> String {
    let size = newtons.abs();
    // g of ISO 80000-3; the kilograms only say what such a force feels like.
    let like = format!("{}\u{a0}kg", tenths_below_ten(size / 9.80665));
    if size >= 995.0 {
        format!("{}\u{a0}kN ({like})", two(size / 1000.0))
    } else {
        format!("{}\u{a0}N ({like})", two(size))
    }
}

/// A moment in newton metres.
pub fn moment(n_mm: f64) -> String {
    format!("{}\u{a0}Nm", two(n_mm.abs() / 1000.0))
}

/// A demand or resistance in its unit (`N/mm2`, `mm`, `1`).
pub fn in_unit(value: f64, unit: &str) -> String {
    match unit {
        "1" => two_decimals(value),
        "mm" => sag(value),
        other => format!("{}\u{a0}{other}", two_or_three(value)),
    }
}

/// Two significant figures, no exponent.
pub fn two(value: f64) -> String {
    significant(value, 2)
}

/// How many times: two significant figures, no zeros behind.
pub fn times(value: f64) -> String {
    let text = two(value);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// How many times, cut to two significant figures: what is asked for and not reached is never shown as reached.
pub fn cut(value: f64) -> String {
    if !value.is_finite() || value <= 0.0 {
        return times(value);
    }
    let step = 10_f64.powf(value.log10().floor() - 1.0);
    // A hair of rounding is no reason to lose a figure.
    times((value / step + 1e-6).floor() * step)
}

/// A mass over its limit, and the limit; one that is over by less than is shown is said so.
pub fn kilograms_to_limit(mass_kg: f64, limit_kg: f64) -> (String, String) {
    let (shown, limit) = (kilograms(mass_kg), kilograms(limit_kg));
    if mass_kg > limit_kg && shown == limit { (format!("just over {shown}"), limit) } else { (shown, limit) }
}

/// A sag and its limit; one that is over the limit by less than is shown is said so.
pub fn to_limit(mm: f64, limit_mm: f64) -> (String, String) {
    let (shown, limit) = (sag(mm), sag(limit_mm));
    if mm > limit_mm && shown == limit { (format!("just over {shown}"), limit) } else { (shown, limit) }
}

/// Three significant figures, no exponent.
pub fn three(value: f64) -> String {
    significant(value, 3)
}

/// A factor of the standard: at most three figures, no trailing zeros.
pub fn factor(value: f64) -> String {
    let text = significant(value, 3);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// A utilisation in a table: two decimals; over the limit it never rounds down to it.
pub fn utilisation(value: f64) -> String {
    if value.is_nan() {
        return "-".into();
    }
    if value > 1.0 + 5e-7 && value < 1.01 { "1.01".into() } else { two_decimals(value) }
}

fn two_decimals(value: f64) -> String {
    tidy_zero(format!("{value:.2}"))
}

fn two_or_three(value: f64) -> String {
    if value.abs() >= 10.0 { three(value) } else { two(value) }
}

/// A number that is whole from ten on and has one decimal below.
fn tenths_below_ten(value: f64) -> String {
    if value.abs() >= 9.95 {
        return whole(value);
    }
    let text = tidy_zero(format!("{value:.1}"));
    text.strip_suffix(".0").map_or(text.clone(), ToOwned::to_owned)
}

fn whole(value: f64) -> String {
    tidy_zero(format!("{value:.0}"))
}

fn significant(value: f64, figures: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 { "0".into() } else { "-".into() };
    }
    let exponent = value.abs().log10().floor() as i32;
    let step = 10f64.powi(exponent - figures + 1);
    let rounded = (value / step).round() * step;
    let decimals = usize::try_from((figures - 1 - exponent).clamp(0, 9)).unwrap_or(0);
    tidy_zero(format!("{rounded:.decimals$}"))
}

/// No `-0` and no `-0.0` on a screen.
fn tidy_zero(text: String) -> String {
    if text.starts_with('-') && text.chars().all(|c| matches!(c, '-' | '0' | '.')) {
        text.trim_start_matches('-').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(text: String) -> String {
        text.replace('\u{a0}', " ")
    }

    #[test]
    fn shares_have_two_figures_and_never_hide_which_side_of_the_limit() {
        let shown = [0.0, 0.001, 0.714, 0.9951, 1.0, 1.001, 1.61, 2.27, 11.7, 140.0].map(|u| plain(share(u)));
        assert_eq!(
            shown,
            [
                "0 %",
                "under 1 %",
                "71 %",
                "99 %",
                "100 %",
                "just over",
                "1.6 times",
                "2.3 times",
                "12 times",
                "over 99 times"
            ]
        );
        assert_eq!(utilisation(1.001), "1.01");
        assert_eq!(plain(share_of_capacity(0.5)), "50 % of what it can carry");
        assert_eq!(plain(share_of_capacity(1.5)), "1.5 times what it can carry");
    }

    #[test]
    fn masses_sags_and_forces_read_plainly() {
        assert_eq!(plain(kilograms(31.24)), "31 kg");
        assert_eq!(plain(kilograms(3.02)), "3 kg");
        assert_eq!(plain(kilograms_more(1.29)), "1.3 kg more");
        assert_eq!(plain(kilograms_more(-0.01)), "no change in weight");
        assert_eq!(plain(sag(5.31)), "5.3 mm");
        assert_eq!(plain(force(451.3)), "450 N (46 kg)");
        assert_eq!(plain(force(-1234.0)), "1.2 kN (126 kg)");
        assert_eq!(plain(moment(-612_000.0)), "610 Nm");
        assert_eq!(plain(in_unit(11.04, "N/mm2")), "11.0 N/mm2");
        assert_eq!(factor(1.30), "1.3");
        let cuts = [2.99, 3.0, 9.96, 120.9, 0.0567, 0.0].map(cut);
        assert_eq!(cuts, ["2.9", "3", "9.9", "120", "0.056", "0"]);
        assert_eq!(plain(to_limit(3.01, 3.0).0), "just over 3 mm");
        assert_eq!(plain(to_limit(3.4, 3.0).0), "3.4 mm");
        assert_eq!(plain(length(-0.2)), "0 mm");
    }
}
