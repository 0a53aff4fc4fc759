//! Small designs for one factor each: a member seated at both ends, or a row of them under a deck.

use battenboard_engine::check::{Ask, check};
use battenboard_engine::design::{
    Action, Anchor, Axes, Deck, DeckSurface, Design, Frame, Grading, Hold, Load, LoadKind, Material, Member, Section,
    Stock,
};
use battenboard_engine::findings::{Check, CheckKind, Findings};

/// A design in the making.
pub struct Small {
    design: Design,
    length_mm: f64,
}

fn stock(name: &str, section: Section, material: &str) -> Stock {
    Stock {
        name: name.to_owned(),
        section,
        material: Material::Class(material.to_owned()),
        grading: Grading::Stamped,
        lengths_mm: Vec::new(),
        price_per_m: None,
        resawn: false,
    }
}

impl Small {
    /// A member `B1`, 1 m long along x, seated at both ends.
    pub fn new(section: Section, material: &str) -> Self {
        let slat = stock("slat", Section::Rectangle { width_mm: 95.0, depth_mm: 20.0 }, "C24");
        let design = Design {
            name: "small".to_owned(),
            stock: vec![stock("bar", section, material), slat],
            ..Design::default()
        };
        let mut small = Self { design, length_mm: 1000.0 };
        small.members(1, 0.0);
        small
    }

    fn members(&mut self, count: usize, pitch_mm: f64) {
        self.design.members.clear();
        self.design.anchors.clear();
        for number in 1..=count {
            let y = pitch_mm * (number - 1) as f64;
            let tag = format!("B{number}");
            self.design.members.push(Member {
                tag: tag.clone(),
                kind: "bearer".to_owned(),
                stock: "bar".to_owned(),
                from: [0.0, y, 0.0],
                to: [self.length_mm, y, 0.0],
                ..Member::default()
            });
            for at_mm in [0.0, self.length_mm] {
                self.design.anchors.push(Anchor {
                    member: tag.clone(),
                    at_mm,
                    to: format!("rib {at_mm}"),
                    axes: Axes::Member,
                    ..Anchor::default()
                });
            }
        }
    }

    pub fn length(mut self, length_mm: f64) -> Self {
        self.length_mm = length_mm;
        self.members(1, 0.0);
        self
    }

    /// Its end may slide along it.
    pub fn sliding(mut self) -> Self {
        use battenboard_engine::design::Grip::{Free, Rigid};
        self.design.anchors[1].hold = Hold::Given([Free, Rigid, Rigid, Rigid, Free, Free]);
        self
    }

    /// How both ends are held.
    pub fn hold(&mut self, hold: Hold) {
        self.design.anchors.iter_mut().for_each(|anchor| anchor.hold = hold);
    }

    pub fn anchor(&mut self, at_mm: f64, hold: Hold) {
        let anchor = Anchor { at_mm, to: "wall".to_owned(), hold, ..self.design.anchors[0].clone() };
        self.design.anchors.push(anchor);
    }

    pub fn service_class(mut self, class: u8) -> Self {
        self.design.settings.service_class = Some(class);
        self
    }

    pub fn grading(mut self, grading: Grading, resawn: bool) -> Self {
        (self.design.stock[0].grading, self.design.stock[0].resawn) = (grading, resawn);
        self
    }

    /// Several members side by side under a deck.
    pub fn row(mut self, count: usize, pitch_mm: f64, deck: Deck) -> Self {
        self.members(count, pitch_mm);
        if matches!(deck.surface, DeckSurface::Sheet { .. }) {
            self.design.stock.truncate(1);
        }
        let carried_by = self.design.members.iter().map(|m| m.tag.clone()).collect();
        self.design.decks = vec![Deck { tag: "D1".to_owned(), carried_by, ..deck }];
        self
    }

    fn put(mut self, action: Action, at_mm: f64, force_n: [f64; 3], moment_n_mm: [f64; 3]) -> Self {
        let what = LoadKind::Point { member: "B1".to_owned(), at_mm, force_n, moment_n_mm, axes: Axes::Vehicle };
        self.design.loads.push(Load { case: format!("{action:?}"), action, what });
        self
    }

    /// A force at the middle.
    pub fn load(self, action: Action, force_n: [f64; 3]) -> Self {
        let middle = 0.5 * self.length_mm;
        self.put(action, middle, force_n, [0.0; 3])
    }

    /// A person's force at the middle.
    pub fn force(self, force_n: [f64; 3]) -> Self {
        self.load(Action::Moving, force_n)
    }

    pub fn force_at(self, at_mm: f64, force_n: [f64; 3]) -> Self {
        self.put(Action::Moving, at_mm, force_n, [0.0; 3])
    }

    /// A moment about the member's length at the middle.
    pub fn twist(self, moment_n_mm: f64) -> Self {
        let middle = 0.5 * self.length_mm;
        self.put(Action::Moving, middle, [0.0; 3], [moment_n_mm, 0.0, 0.0])
    }

    pub fn check(&self) -> Findings {
        let frame = Frame::new(&self.design).unwrap_or_else(|violations| panic!("{violations:?}"));
        check(&frame, Ask::default(), &|| false).unwrap()
    }
}

pub fn maybe(findings: &Findings, kind: CheckKind) -> Option<&Check> {
    findings.checks.iter().find(|check| check.kind == kind)
}

pub fn find(findings: &Findings, kind: CheckKind) -> &Check {
    maybe(findings, kind).unwrap_or_else(|| panic!("no {kind:?} among {:?}", findings.checks))
}

pub fn factor(check: &Check, name: &str) -> f64 {
    check.factors.iter().find(|f| f.name == name).unwrap_or_else(|| panic!("no {name} in {check:?}")).value
}
