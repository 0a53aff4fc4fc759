//! Any stability, anchors that hold down and headroom, whether they make sense or not.

use super::any_design::{number, text, value};
use battenboard_engine::findings::{Headroom, HoldDown, Room, Stability, StabilityLine};
use proptest::{collection::vec, option, prelude::*};

prop_compose! {
    fn line()(
        (combination, members) in (text(), vec(text(), 0..3)),
        (buckling_factor, sways, second_order) in (option::of(number()), any::<bool>(), any::<bool>()),
    ) -> StabilityLine {
        StabilityLine { combination, buckling_factor, sways, second_order, members }
    }
}

pub(super) fn stability() -> impl Strategy<Value = Stability> {
    (option::of(number()), option::of([number(), number()]), vec(line(), 0..3))
        .prop_map(|(frequency_hz, sway_stiffness_n_mm, lines)| Stability { frequency_hz, sway_stiffness_n_mm, lines })
}

pub(super) fn hold_down() -> impl Strategy<Value = HoldDown> {
    (text(), text(), number()).prop_map(|(anchor, combination, force_n)| HoldDown { anchor, combination, force_n })
}

prop_compose! {
    pub(super) fn headroom()(
        (deck, under) in (text(), option::of(text())),
        (clear_mm, mattress_mm, next_mm) in (number(), number(), number()),
        enough_for in value::<Room>(),
    ) -> Headroom {
        Headroom { deck, under, clear_mm, mattress_mm, enough_for, next_mm }
    }
}
