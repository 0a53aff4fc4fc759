//! Any design, whether it makes sense or not: the conversion has no opinion.

use super::super::enums::EveryValue;
use battenboard_engine::design::{
    Action, Anchor, Axes, Deck, DeckSurface, Design, Face, GivenSection, Grading, Grip, Heading, Hold, Hole, Inside,
    Joint, Load, LoadKind, Material, Member, Notch, People, Posture, Seat, Section, Settings, Stock, Stowage,
    ToBeMeasured, Vector, Vehicle,
};
use proptest::{collection::vec, option, prelude::*, sample::select};

/// Any number but negative zero, which becomes zero on the wire.
pub(super) fn number() -> impl Strategy<Value = f64> {
    any::<f64>().prop_map(|number| if number == 0.0 { 0.0 } else { number })
}

pub(super) fn text() -> impl Strategy<Value = String> {
    "[A-Za-z0-9 /äß·-]{0,8}"
}

pub(super) fn vector() -> impl Strategy<Value = Vector> {
    [number(), number(), number()]
}

pub(super) fn value<T: EveryValue + Clone + std::fmt::Debug>() -> impl Strategy<Value = T> {
    select(T::VALUES)
}

fn maybe() -> impl Strategy<Value = Option<f64>> {
    // Zero is not the same as unset.
    option::of(prop_oneof![number(), Just(0.0)])
}

fn plan() -> impl Strategy<Value = [f64; 2]> {
    [number(), number()]
}

prop_compose! {
    pub(super) fn design()(
        (name, title) in (text(), text()),
        vehicle in vehicle(),
        stock in vec(stock(), 0..3),
        members in vec(member(), 0..3),
        joints in vec(joint(), 0..3),
        anchors in vec(anchor(), 0..3),
        decks in vec(deck(), 0..3),
        stowage in vec(stowage(), 0..3),
        people in vec(people(), 0..3),
        loads in vec(load(), 0..4),
        settings in settings(),
        to_be_measured in vec((text(), text()).prop_map(|(tag, what)| ToBeMeasured { tag, what }), 0..3),
    ) -> Design {
        Design {
            name, title, vehicle, stock, members, joints, anchors, decks, stowage, people, loads, settings,
            to_be_measured,
        }
    }
}

prop_compose! {
    fn vehicle()(
        (name, survey) in (text(), any::<u32>()),
        (wheelbase_mm, track_mm, gross_limit_kg, front_limit_kg) in (maybe(), maybe(), maybe(), maybe()),
        (rear_limit_kg, weighed_front_kg, weighed_rear_kg, length_mm) in (maybe(), maybe(), maybe(), maybe()),
        seats in vec((number(), number(), number()).prop_map(|(x_mm, y_mm, mass_kg)| Seat { x_mm, y_mm, mass_kg }), 0..3),
        inside in option::of((vector(), vector()).prop_map(|(from, to)| Inside { from, to })),
    ) -> Vehicle {
        Vehicle {
            name, survey, wheelbase_mm, track_mm, gross_limit_kg, front_limit_kg, rear_limit_kg, weighed_front_kg,
            weighed_rear_kg, length_mm, seats, inside,
        }
    }
}

fn section() -> impl Strategy<Value = Section> {
    prop_oneof![
        plan().prop_map(|[width_mm, depth_mm]| Section::Rectangle { width_mm, depth_mm }),
        number().prop_map(|diameter_mm| Section::Round { diameter_mm }),
        vector().prop_map(|[width_mm, depth_mm, wall_mm]| Section::RectangularTube { width_mm, depth_mm, wall_mm }),
        plan().prop_map(|[diameter_mm, wall_mm]| Section::RoundTube { diameter_mm, wall_mm }),
        given_section().prop_map(Section::Given),
    ]
}

prop_compose! {
    fn given_section()(
        (area_mm2, iy_mm4, iz_mm4, j_mm4) in (number(), number(), number(), number()),
        (shear_area_y_mm2, shear_area_z_mm2, wy_mm3, wz_mm3) in (maybe(), maybe(), maybe(), maybe()),
        (width_mm, depth_mm) in (maybe(), maybe()),
    ) -> GivenSection {
        GivenSection {
            area_mm2, iy_mm4, iz_mm4, j_mm4, shear_area_y_mm2, shear_area_z_mm2, wy_mm3, wz_mm3, width_mm, depth_mm,
        }
    }
}

prop_compose! {
    fn stock()(
        name in text(),
        section in section(),
        material in prop_oneof![
            text().prop_map(Material::Class),
            vector().prop_map(|[e_n_mm2, g_n_mm2, density_kg_m3]| Material::Given { e_n_mm2, g_n_mm2, density_kg_m3 }),
        ],
        grading in value::<Grading>(),
        lengths_mm in vec(number(), 0..3),
        price_per_m in maybe(),
        resawn in any::<bool>(),
    ) -> Stock {
        Stock { name, section, material, grading, lengths_mm, price_per_m, resawn }
    }
}

prop_compose! {
    fn member()(
        (tag, kind, stock) in (text(), text(), text()),
        (from, to, up) in (vector(), vector(), option::of(vector())),
        (roll_deg, held_depth_mm, held_width_mm, sag_limit_mm) in (number(), maybe(), maybe(), maybe()),
        (notches, holes) in (vec(notch(), 0..3), vec(hole(), 0..3)),
    ) -> Member {
        Member {
            tag, kind, stock, from, to, up, roll_deg, held_depth_mm, held_width_mm, sag_limit_mm, notches, holes,
        }
    }
}

prop_compose! {
    fn notch()([from_mm, to_mm, depth_mm] in vector(), face in value::<Face>(), slope in number()) -> Notch {
        Notch { from_mm, to_mm, depth_mm, face, slope }
    }
}

prop_compose! {
    fn hole()([at_mm, diameter_mm, off_mm] in vector(), through_depth in any::<bool>()) -> Hole {
        Hole { at_mm, diameter_mm, through_depth, off_mm }
    }
}

fn grip() -> impl Strategy<Value = Grip> {
    prop_oneof![Just(Grip::Free), Just(Grip::Rigid), number().prop_map(Grip::Spring), Just(Grip::Spring(0.0))]
}

fn hold() -> impl Strategy<Value = Hold> {
    prop_oneof![
        Just(Hold::Rigid),
        Just(Hold::Pinned),
        Just(Hold::Seated),
        [grip(), grip(), grip(), grip(), grip(), grip()].prop_map(Hold::Given),
    ]
}

prop_compose! {
    fn joint()(
        (tag, member, on) in (option::of(text()), text(), text()),
        (at_mm, on_at_mm) in (maybe(), maybe()),
        hold in hold(),
        axes in value::<Axes>(),
        contact_mm in option::of(plan()),
    ) -> Joint {
        Joint { tag, member, on, at_mm, on_at_mm, hold, axes, contact_mm }
    }
}

prop_compose! {
    fn anchor()(
        (tag, member, at_mm, to) in (option::of(text()), text(), number(), text()),
        hold in hold(),
        axes in value::<Axes>(),
        settlement in [number(), number(), number(), number(), number(), number()],
        contact_mm in maybe(),
    ) -> Anchor {
        Anchor { tag, member, at_mm, to, hold, axes, settlement, contact_mm }
    }
}

prop_compose! {
    fn deck()(
        tag in text(),
        surface in prop_oneof![
            (text(), number()).prop_map(|(stock, gap_mm)| DeckSurface::Slats { stock, gap_mm }),
            (text(), number(), any::<bool>()).prop_map(|(material, thickness_mm, grain_across)| {
                DeckSurface::Sheet { material, thickness_mm, grain_across }
            }),
        ],
        carried_by in vec(text(), 0..3),
        (from_mm, to_mm) in (option::of(plan()), option::of(plan())),
        (bedding_kg, mattress_mm, screwed) in (number(), maybe(), any::<bool>()),
    ) -> Deck {
        Deck { tag, surface, carried_by, from_mm, to_mm, bedding_kg, mattress_mm, screwed }
    }
}

prop_compose! {
    fn stowage()(
        (name, mass_kg, at, size, on) in (text(), number(), vector(), vector(), option::of(text())),
    ) -> Stowage {
        Stowage { name, mass_kg, at, size, on }
    }
}

prop_compose! {
    fn people()(
        (name, posture, deck) in (text(), value::<Posture>(), text()),
        (at_mm, heads, mass_kg) in (vec(plan(), 0..3), value::<Heading>(), maybe()),
    ) -> People {
        People { name, posture, deck, at_mm, heads, mass_kg }
    }
}

fn load_kind() -> impl Strategy<Value = LoadKind> {
    let axes = value::<Axes>;
    prop_oneof![
        (text(), number(), vector(), vector(), axes()).prop_map(|(member, at_mm, force_n, moment_n_mm, axes)| {
            LoadKind::Point { member, at_mm, force_n, moment_n_mm, axes }
        }),
        (text(), number(), number(), vector(), vector(), axes()).prop_map(
            |(member, from_mm, to_mm, start_n_mm, end_n_mm, axes)| {
                LoadKind::Line { member, from_mm, to_mm, start_n_mm, end_n_mm, axes }
            }
        ),
        (text(), number(), number()).prop_map(|(member, at_mm, mass_kg)| LoadKind::Mass { member, at_mm, mass_kg }),
        (text(), number()).prop_map(|(deck, pressure_n_mm2)| LoadKind::Area { deck, pressure_n_mm2 }),
    ]
}

fn load() -> impl Strategy<Value = Load> {
    (text(), value::<Action>(), load_kind()).prop_map(|(case, action, what)| Load { case, action, what })
}

prop_compose! {
    fn settings()(
        service_class in option::of(any::<u8>()),
        (person_kg, gamma_permanent, gamma_variable, span_over_sag) in (maybe(), maybe(), maybe(), maybe()),
        road_g in option::of([number(), number(), number(), number(), number()]),
    ) -> Settings {
        Settings { service_class, person_kg, gamma_permanent, gamma_variable, span_over_sag, road_g }
    }
}
