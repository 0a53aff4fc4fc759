//! Where a frame stands and where it does not, by closed forms.
#![allow(clippy::unwrap_used, reason = "a failed test may panic")]

use super::*;
use crate::statics::posts::{self, EULER};
use crate::statics::stiffness::Stiffness;

/// Whether a post with these ends stands under a share of Euler's load, with five inner shapes.
fn post_stands(foot: &[usize], head: Option<&[usize]>, share: f64) -> bool {
    let mut design = posts::blank();
    posts::stand(&mut design, "P", 0.0, posts::free_in(foot), head.map(posts::free_in));
    let frame = posts::frame(&design);
    let analysis = posts::solved(&frame);
    let system = analysis.system.in_state(&frame, Stiffness::Buckling).unwrap();
    let refined = Refined::new(&system, &[5]);
    stands(&frame, &refined, &[Press { mean: share * EULER, half: 0.0 }])
}

/// Clamped, clamped and pinned, pinned, free: 4, 2.0457 (tan u = u), 1, 1/4 of Euler's load (Timoshenko and Gere, Theory of
/// Elastic Stability, 2.1; from memory, derived again): a thousandth under it a post stands, a thousandth over it not.
#[test]
fn a_post_stands_up_to_its_load() {
    let cases = [
        (vec![], vec![2], 4.0),
        (vec![], vec![2, 3, 4, 5], 2.045_75),
        (vec![3, 4], vec![2, 3, 4], 1.0),
        (vec![], vec![0, 1, 2, 3, 4, 5], 0.25),
    ];
    for (foot, head, load) in cases {
        assert!(post_stands(&foot, Some(&head), 0.999 * load), "under {load}");
        assert!(!post_stands(&foot, Some(&head), 1.001 * load), "over {load}");
    }
    assert!(post_stands(&[], None, -50.0), "pulled it stands");
}

/// A clamped post under loads even along it, as its own weight, stands up to q l = 7.837 E I/l² (Timoshenko and Gere 2.12, from
/// memory): all of it at the foot, nothing at the head. Standing on its head it would be another post.
#[test]
fn a_post_stands_under_loads_along_it() {
    let mut design = posts::blank();
    posts::stand(&mut design, "P", 0.0, posts::free_in(&[]), None);
    let frame = posts::frame(&design);
    let analysis = posts::solved(&frame);
    let system = analysis.system.in_state(&frame, Stiffness::Buckling).unwrap();
    let refined = Refined::new(&system, &[5]);
    let load = 7.837 * posts::WEAK / (posts::LENGTH * posts::LENGTH);
    let under = |share: f64| stands(&frame, &refined, &[Press::between([-share * load, 0.0])]);
    assert!(under(0.998) && !under(1.002));
}

/// Of many claims only the wrong ones are doubtful: posts on pins, each pressed alone to a fifth of its load.
#[test]
fn only_wrong_claims_are_doubtful() {
    let mut design = posts::blank();
    for k in 0..6 {
        let tag = format!("P{k}");
        posts::stand(
            &mut design,
            &tag,
            500.0 * f64::from(k),
            posts::free_in(&[3, 4]),
            Some(posts::free_in(&[2, 3, 4])),
        );
    }
    let frame = posts::frame(&design);
    let analysis = posts::solved(&frame);
    let system = analysis.system.in_state(&frame, Stiffness::Buckling).unwrap();
    let refined = Refined::new(&system, &[5; 6]);
    let alone = |post: usize| -> Vec<[f64; 2]> {
        (0..6).map(|bar| if bar == post { [-0.2 * EULER; 2] } else { [0.0; 2] }).collect()
    };
    let claims =
        |factors: [f64; 6]| factors.into_iter().enumerate().map(|(k, factor)| Claim::new(k, &alone(k), factor));
    assert!(doubtful(&frame, &refined, claims([5.0; 6]).collect()).is_empty());
    assert_eq!(doubtful(&frame, &refined, claims([5.0, 5.1, 4.9, f64::INFINITY, 5.0, 19.0]).collect()), [1, 3, 5]);
    assert!(doubtful(&frame, &refined, Vec::new()).is_empty());
}
