//! A textbook frame as a [`Design`]: every element a member; at each node one member end is the hub, every other end is
//! joined to it; supports are anchors on the hub, nodal loads act on the hub.

use crate::book::{Bar, Book, MemberLoad, Wanted, direction};
use crate::{build, vectors};
use battenboard_engine::design::{Axes, Design, GivenSection, Grip, Hold, Member};

/// A design with the place of each node.
pub struct Converted {
    pub design: Design,
    /// Node, tag of its hub, place on the hub. In the order of the book's nodes; nodes without members are left out.
    hubs: Vec<(String, String, f64)>,
}

/// One end of a bar at a node.
struct End<'a> {
    bar: &'a Bar,
    name: &'static str,
}

/// Tag of the member made of a bar.
pub fn tag(bar: &str) -> String {
    format!("M{bar}")
}

/// Tag of the anchor made of a node's supports.
pub fn anchor_tag(node: &str) -> String {
    format!("A{node}")
}

impl Converted {
    /// Converts a textbook frame, without marks for the places asked for.
    pub fn of(book: &Book) -> Self {
        let mut made = Self { design: build::blank(&book.id), hubs: Vec::new() };
        made.put_stocks(book);
        for bar in &book.model.members {
            let member = made.member_of(book, bar);
            made.design.members.push(member);
        }
        for node in book.model.nodes.keys() {
            made.put_node(book, node);
        }
        made.put_loads(book);
        made
    }

    /// The same with a mark wherever a check asks for a value between ends.
    pub fn marked(book: &Book) -> Self {
        let mut made = Self::of(book);
        for check in book.checks() {
            match &check.what {
                Wanted::Mdisp { member, x, .. }
                | Wanted::Internal { member, x, .. }
                | Wanted::Absinternal { member, x, .. } => {
                    made.design.loads.push(build::mark(build::CASE, &tag(member), *x));
                }
                _ => {}
            }
        }
        made
    }

    /// Tag and place of a node's hub.
    pub fn hub(&self, node: &str) -> (&str, f64) {
        let found = self.hubs.iter().find(|(name, ..)| name == node);
        found.map(|(_, hub, at)| (hub.as_str(), *at)).unwrap_or_else(|| panic!("node {node} has no member"))
    }

    /// Length of a member.
    pub fn length(&self, tag: &str) -> f64 {
        let member = self.design.members.iter().find(|member| member.tag == tag);
        member.map(vectors::length).unwrap_or_else(|| panic!("no member {tag}"))
    }

    fn put_stocks(&mut self, book: &Book) {
        for bar in &book.model.members {
            let name = stock_name(bar);
            if self.design.stock.iter().any(|stock| stock.name == name) {
                continue;
            }
            let (stiffness, figures) = (&book.model.materials[&bar.mat], &book.model.sections[&bar.sec]);
            let section = GivenSection {
                shear_area_y_mm2: figures.asy,
                shear_area_z_mm2: figures.asz,
                ..build::section(figures.a, figures.iy, figures.iz, figures.j)
            };
            self.design.stock.push(build::stock(&name, stiffness.e, stiffness.g, section));
        }
    }

    fn member_of(&self, book: &Book, bar: &Bar) -> Member {
        let end = |node: &str, name: &str| {
            let arm = bar.offsets.get(name).copied().unwrap_or_default();
            vectors::add(book.model.nodes[node], arm)
        };
        Member {
            up: bar.up,
            roll_deg: bar.roll,
            ..build::member(&tag(&bar.id), &stock_name(bar), end(&bar.i, "i"), end(&bar.j, "j"))
        }
    }

    fn put_node(&mut self, book: &Book, node: &str) {
        let mut ends: Vec<End<'_>> = Vec::new();
        for bar in &book.model.members {
            for (name, at) in [("i", &bar.i), ("j", &bar.j)] {
                if at == node {
                    ends.push(End { bar, name });
                }
            }
        }
        if ends.is_empty() {
            return;
        }
        ends.sort_by_key(|end| (end.is_offset(), end.loosened()));
        let first = &ends[0];
        let (hub, at) = if first.is_offset() {
            // Nothing ends at the node itself: a short piece stands there, unloaded beyond the node, so it only carries
            // the node's load to the arm.
            self.put_stub(book, node, first)
        } else {
            (tag(&first.bar.id), self.place(first))
        };
        self.hubs.push((node.into(), hub.clone(), at));
        let from = usize::from(!first.is_offset());
        for end in &ends[from..] {
            let (carried, place) = (tag(&end.bar.id), self.place(end));
            let name = format!("J{node}-{}", end.bar.id);
            // The arm between two places of a joint is rigid on the carrying side: of an offset end, the member itself
            // carries the stub at the node.
            let joint = if end.is_offset() {
                assert_eq!(end.loosened(), 0, "{}: an offset end with releases", book.id);
                build::joint(&name, (&hub, at), (&carried, place), Hold::Rigid, Axes::Member)
            } else {
                build::joint(&name, (&carried, place), (&hub, at), end.hold(), Axes::Member)
            };
            self.design.joints.push(joint);
        }
        self.put_anchor(book, node, if ends.len() == 1 && !first.is_offset() { Some(first) } else { None });
    }

    fn put_stub(&mut self, book: &Book, node: &str, end: &End<'_>) -> (String, f64) {
        let member = self.design.members.iter().find(|member| member.tag == tag(&end.bar.id)).expect("made before");
        let reach = vectors::scale(vectors::unit(vectors::sub(member.to, member.from)), 0.05 * vectors::length(member));
        let start = book.model.nodes[node];
        let stub = Member {
            up: member.up,
            ..build::member(&format!("S{node}"), &stock_name(end.bar), start, vectors::add(start, reach))
        };
        let name = stub.tag.clone();
        self.design.members.push(stub);
        (name, 0.0)
    }

    fn put_anchor(&mut self, book: &Book, node: &str, alone: Option<&End<'_>>) {
        let mut grips = [Grip::Free; 6];
        let mut settlement = [0.0; 6];
        if let Some(held) = book.model.supports.get(node) {
            for (dof, movement) in held {
                grips[direction(dof)] = Grip::Rigid;
                settlement[direction(dof)] = *movement;
            }
        }
        for spring in book.model.springs.iter().filter(|spring| spring.node == node) {
            grips[direction(&spring.dof)] = Grip::Spring(spring.k);
        }
        if let Some(end) = alone.filter(|end| end.loosened() > 0) {
            self.fold_in(book, end, &mut grips);
        }
        if grips.iter().any(|grip| *grip != Grip::Free) {
            let (hub, at) = self.hub(node);
            let mut anchor = build::anchor(&anchor_tag(node), hub, at, Hold::Given(grips));
            anchor.settlement = settlement;
            self.design.anchors.push(anchor);
        }
    }

    /// A springy or released end that is alone at its support: support and end are one hold, which is exact where the
    /// member's axes are the vehicle's.
    fn fold_in(&self, book: &Book, end: &End<'_>, grips: &mut [Grip; 6]) {
        let member = self.design.members.iter().find(|member| member.tag == tag(&end.bar.id)).expect("made before");
        let same = vectors::axes(member).iter().enumerate().all(|(row, axis)| (axis[row] - 1.0).abs() < 1e-12);
        assert!(same, "{}: a loosened end alone at a support, axes turned", book.id);
        let Hold::Given(own) = end.hold() else { return };
        for (grip, own) in grips.iter_mut().zip(own) {
            if own != Grip::Rigid && *grip == Grip::Rigid {
                *grip = own;
            }
        }
    }

    fn put_loads(&mut self, book: &Book) {
        for load in &book.model.member_loads {
            self.design.loads.push(match load {
                MemberLoad::Point { member, at, force } => {
                    build::point_load(build::CASE, &tag(member), *at, *force, [0.0; 3])
                }
                MemberLoad::Line { member, from, to, start, end } => {
                    build::line_load(build::CASE, &tag(member), (*from, *start), (*to, *end))
                }
            });
        }
        for load in &book.model.node_loads {
            let (hub, at) = self.hub(&load.node);
            let made = build::point_load(build::CASE, hub, at, load.force, load.moment);
            self.design.loads.push(made);
        }
        if self.design.loads.is_empty() {
            let first = self.design.members[0].tag.clone();
            self.design.loads.push(build::mark(build::CASE, &first, 0.0));
        }
    }

    fn place(&self, end: &End<'_>) -> f64 {
        if end.name == "i" { 0.0 } else { self.length(&tag(&end.bar.id)) }
    }
}

impl End<'_> {
    fn loosened(&self) -> usize {
        self.bar.releases.get(self.name).map_or(0, Vec::len)
            + self.bar.springs.get(self.name).map_or(0, |map| map.len())
    }

    fn is_offset(&self) -> bool {
        self.bar.offsets.contains_key(self.name)
    }

    fn hold(&self) -> Hold {
        if self.loosened() == 0 {
            return Hold::Rigid;
        }
        let mut grips = [Grip::Rigid; 6];
        for dof in self.bar.releases.get(self.name).into_iter().flatten() {
            grips[direction(dof)] = Grip::Free;
        }
        for (dof, k) in self.bar.springs.get(self.name).into_iter().flatten() {
            grips[direction(dof)] = Grip::Spring(*k);
        }
        Hold::Given(grips)
    }
}

fn stock_name(bar: &Bar) -> String {
    format!("{}-{}", bar.mat, bar.sec)
}
