//! The rules against the worked examples of `fixtures/contact.json`, which names source, locator and basis of each value.

use battenboard_engine::design::Section;
use battenboard_engine::rules::bearing::{self, Face};
use battenboard_engine::rules::notch::{self, Notched};
use battenboard_engine::rules::strength::Resistance;
use battenboard_engine::tables::timber::{Family, TimberClass, class};
use serde_json::Value;

fn example(id: &str) -> Value {
    let all: Value = serde_json::from_str(include_str!("../fixtures/contact.json")).unwrap();
    let found = all["examples"].as_array().unwrap().iter().find(|example| example["id"] == id);
    found.unwrap_or_else(|| panic!("no example {id}")).clone()
}

fn input(example: &Value, name: &str) -> f64 {
    example["inputs"][name].as_f64().unwrap_or_else(|| panic!("{} has no input {name}", example["id"]))
}

fn expect(example: &Value, name: &str, found: f64) {
    let expected = &example["expected"][name];
    let value = expected["value"].as_f64().unwrap_or_else(|| panic!("{} has no {name}", example["id"]));
    let tolerance = expected["tol_abs"].as_f64().or(expected["tol_rel"].as_f64().map(|share| share * value.abs()));
    let off = (found - value).abs();
    assert!(off <= tolerance.unwrap(), "{} {name}: found {found}, {} {value}", example["id"], expected["basis"]);
}

/// A class with some strengths of the example.
fn own(family: Family, f_c_0_k: f64, f_c_90_k: f64, f_v_k: f64) -> TimberClass {
    TimberClass { family, f_c_0_k, f_c_90_k, f_v_k, ..*class("C24").unwrap() }
}

/// LVL Handbook Europe 2025, example 9.1: a joist on a support of 45, widened by 15 on one side (read).
#[test]
fn lvl_joist_on_its_support() {
    let of = example("lvl-joist-9.1");
    let line =
        (input(&of, "gamma_G") * input(&of, "g") + input(&of, "gamma_Q") * input(&of, "q")) * input(&of, "spacing_m");
    let reaction = 0.5 * line * input(&of, "L");
    let face = Face {
        along: 0.0,
        length_mm: input(&of, "support"),
        width_mm: input(&of, "b"),
        beside_mm: input(&of, "ext"),
        k_c_90: 1.0,
    };
    let class = own(Family::Lvl, 35.0, input(&of, "fc90"), input(&of, "fv"));
    let found = bearing::outcome(&face, &class, input(&of, "kmod"), reaction);
    expect(&of, "sigma_c90", found.demand);
    expect(&of, "f_c90d", found.resistance);
}

#[test]
fn bearing_at_a_beams_end() {
    let of = example("ec5-bearing-end");
    let length_mm = input(&of, "l");
    let beside_mm =
        bearing::beside_mm(length_mm, input(&of, "a"), None) + bearing::beside_mm(length_mm, f64::INFINITY, None);
    let face = Face { along: 0.0, length_mm, width_mm: input(&of, "b"), beside_mm, k_c_90: input(&of, "kc90") };
    let class = own(Family::Softwood, 21.0, input(&of, "fc90"), 4.0);
    let found = bearing::outcome(&face, &class, input(&of, "kmod"), 1e3 * input(&of, "F_kN"));
    expect(&of, "l_ef", face.effective_mm());
    expect(&of, "sigma_c90", found.demand);
    expect(&of, "f_c90d", found.resistance);
    expect(&of, "util", found.utilisation);
}

#[test]
fn a_brace_end_at_45_degrees() {
    let of = example("ec5-hankinson-brace");
    let class = own(Family::Softwood, input(&of, "fc0"), input(&of, "fc90"), 4.0);
    let along = input(&of, "alpha").to_radians().cos();
    let face = Face { along, length_mm: 50.0, width_mm: 45.0, beside_mm: 0.0, k_c_90: input(&of, "kc90") };
    let found = bearing::outcome(&face, &class, input(&of, "kmod"), 1000.0);
    let factor = |name: &str| found.factors.iter().find(|factor| factor.name == name).unwrap().value;
    expect(&of, "f_c0d", factor("f_c,0,d"));
    expect(&of, "f_c90d", factor("f_c,90,d"));
    expect(&of, "f_c_alpha_d", found.resistance);
}

#[test]
fn a_square_notch_at_a_beams_end() {
    let of = example("ec5-notch-square");
    let (b, h) = (input(&of, "b"), input(&of, "h"));
    let class = own(Family::Softwood, 21.0, 2.5, input(&of, "fv"));
    let whole = Resistance::new(&Section::Rectangle { width_mm: b, depth_mm: h }, &class, 1e3, 1e3);
    assert_eq!((whole.k_cr, notch::k_n(Family::Softwood)), (input(&of, "kcr"), input(&of, "kn")));
    let notched = Notched {
        h_mm: h,
        h_ef_mm: input(&of, "hef"),
        width_mm: b,
        x_mm: input(&of, "x"),
        slope: input(&of, "i"),
        k_n: notch::k_n(Family::Softwood),
    };
    let k_mod = input(&of, "kmod");
    let found = notch::outcome(&notched, &whole, k_mod, 1e3 * input(&of, "V_kN"));
    expect(&of, "alpha", notched.h_ef_mm / notched.h_mm);
    expect(&of, "kv", notch::k_v(&notched));
    expect(&of, "tau", found.demand);
    expect(&of, "f_vd", whole.design(whole.f_v_k, k_mod));
    expect(&of, "util", found.utilisation);
}
