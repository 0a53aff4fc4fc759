//! `[[stock]]`: sections and materials.

use crate::STOCK_LIMIT;
use crate::desk::Desk;
use crate::fields::Fields;
use crate::tags::with_near;
use crate::unit::Kind;
use crate::value::Node;
use battenboard_engine::design::{GivenSection, Grading, Material, Section, Stock};
use battenboard_engine::nearest::nearest;
use std::collections::BTreeMap;
use toml::de::DeValue;

const STOCK: [&str; 7] = ["name", "section", "material", "grade", "lengths", "price", "resawn"];
const SECTION: [&str; 12] =
    ["width", "depth", "wall", "diameter", "area", "iy", "iz", "j", "shear_area_y", "shear_area_z", "wy", "wz"];
const MATERIAL: [&str; 3] = ["e", "g", "density"];

/// The stock that was read, by name.
#[derive(Default)]
pub(crate) struct Shelf {
    lines: BTreeMap<String, usize>,
    /// False once a name could not be read: then an unknown name is no news.
    complete: bool,
}

impl Shelf {
    /// Whether every name of the file could be read.
    pub(crate) fn is_complete(&self) -> bool {
        self.complete
    }

    /// The name of a stock; said where there is none of that name.
    pub(crate) fn name(&self, desk: &mut Desk<'_>, node: Option<Node<'_>>) -> String {
        let Some((node, name)) = node.and_then(|node| node.text(desk).map(|name| (node, name))) else {
            return String::new();
        };
        if self.complete && !self.lines.contains_key(&name) {
            let draft = node.draft(format!("there is no stock named \"{}\"", crate::lines::shorten(&name)));
            let near = nearest(&name, self.lines.keys().map(String::as_str)).map(str::to_owned);
            desk.say(with_near(draft, near));
        }
        name
    }
}

pub(crate) fn read(desk: &mut Desk<'_>, root: &Fields<'_>) -> (Vec<Stock>, Shelf) {
    let nodes = root.tables(desk, "stock", STOCK_LIMIT);
    let mut shelf = Shelf { lines: BTreeMap::new(), complete: !root.is_unread("stock", nodes.len()) };
    let mut stock = Vec::with_capacity(nodes.len());
    for node in nodes {
        let Some(fields) = Fields::open(desk, &node, "a stock", &STOCK) else {
            shelf.complete = false;
            continue;
        };
        let name = fields.need(desk, "name", "\"45x70\"").and_then(|node| Some((node.text(desk)?, node)));
        match &name {
            Some((name, node)) => {
                let line = desk.line(&node.span);
                if let Some(first) = shelf.lines.get(name) {
                    let message = format!("the stock \"{name}\" stands twice, first on line {first}");
                    desk.say(node.draft(message).mend("give one of the two another name"));
                    shelf.complete = false;
                } else {
                    shelf.lines.insert(name.clone(), line);
                }
            }
            None => shelf.complete = false,
        }
        stock.push(Stock {
            name: name.map(|(name, _)| name).unwrap_or_default(),
            section: section(desk, &fields),
            material: material(desk, &fields),
            grading: grading(desk, &fields),
            lengths_mm: lengths(desk, &fields),
            price_per_m: fields.number(desk, "price", Kind::Price),
            resawn: fields.get("resawn").and_then(|node| node.truth(desk)).unwrap_or_default(),
        });
    }
    (stock, shelf)
}

fn grading(desk: &mut Desk<'_>, fields: &Fields<'_>) -> Grading {
    let choices = [("stamped", Grading::Stamped), ("measured", Grading::Measured), ("assumed", Grading::Assumed)];
    fields.get("grade").and_then(|node| node.choice(desk, &choices)).unwrap_or_default()
}

fn lengths(desk: &mut Desk<'_>, fields: &Fields<'_>) -> Vec<f64> {
    let items = fields.get("lengths").map(|node| node.items(desk, "lengths")).unwrap_or_default();
    items.iter().filter_map(|item| item.number(desk, Kind::Length)).collect()
}

fn section(desk: &mut Desk<'_>, stock: &Fields<'_>) -> Section {
    let nothing = Section::Rectangle { width_mm: 0.0, depth_mm: 0.0 };
    let Some(node) = stock.need(desk, "section", "{ width = 45, depth = 70 }") else { return nothing };
    let Some(fields) = Fields::open(desk, &node, "a section", &SECTION) else { return nothing };
    let shape = shape(&fields);
    let (name, allowed): (&str, &[&str]) = match shape {
        Shape::Given => ("a section given by its figures (`area`)", &SECTION[..]),
        Shape::Round => ("a round section (`diameter`)", &["diameter", "wall"]),
        Shape::Rectangle => ("a rectangle (`width`, `depth`)", &["width", "depth", "wall"]),
    };
    let stray: &[&str] = match shape {
        Shape::Given => &["diameter", "wall"],
        _ => &SECTION,
    };
    for key in stray {
        if (matches!(shape, Shape::Given) || !allowed.contains(key))
            && let Some(node) = fields.get(key)
        {
            desk.say(node.draft(format!("`{key}` does not go with {name}")).mend("take it out"));
        }
    }
    match shape {
        Shape::Given => Section::Given(given(desk, &fields)),
        Shape::Round => {
            let diameter_mm = fields.need_number(desk, "diameter", Kind::Length, "40");
            match fields.number(desk, "wall", Kind::Length) {
                Some(wall_mm) => Section::RoundTube { diameter_mm, wall_mm },
                None => Section::Round { diameter_mm },
            }
        }
        Shape::Rectangle => {
            let width_mm = fields.need_number(desk, "width", Kind::Length, "45");
            let depth_mm = fields.need_number(desk, "depth", Kind::Length, "70");
            match fields.number(desk, "wall", Kind::Length) {
                Some(wall_mm) => Section::RectangularTube { width_mm, depth_mm, wall_mm },
                None => Section::Rectangle { width_mm, depth_mm },
            }
        }
    }
}

enum Shape {
    Rectangle,
    Round,
    Given,
}

fn shape(fields: &Fields<'_>) -> Shape {
    if SECTION[4..].iter().any(|key| fields.has(key)) {
        Shape::Given
    } else if fields.has("diameter") {
        Shape::Round
    } else {
        Shape::Rectangle
    }
}

fn given(desk: &mut Desk<'_>, fields: &Fields<'_>) -> GivenSection {
    GivenSection {
        area_mm2: fields.need_number(desk, "area", Kind::Area, "3150"),
        iy_mm4: fields.need_number(desk, "iy", Kind::Inertia, "1286250"),
        iz_mm4: fields.need_number(desk, "iz", Kind::Inertia, "531562"),
        j_mm4: fields.need_number(desk, "j", Kind::Inertia, "1270000"),
        shear_area_y_mm2: fields.number(desk, "shear_area_y", Kind::Area),
        shear_area_z_mm2: fields.number(desk, "shear_area_z", Kind::Area),
        wy_mm3: fields.number(desk, "wy", Kind::Modulus),
        wz_mm3: fields.number(desk, "wz", Kind::Modulus),
        width_mm: fields.number(desk, "width", Kind::Length),
        depth_mm: fields.number(desk, "depth", Kind::Length),
    }
}

fn material(desk: &mut Desk<'_>, stock: &Fields<'_>) -> Material {
    let Some(node) = stock.need(desk, "material", "\"C16\"") else { return Material::Class(String::new()) };
    if !matches!(node.value, DeValue::Table(_)) {
        return Material::Class(node.text(desk).unwrap_or_default());
    }
    let Some(fields) = Fields::open(desk, &node, "a material", &MATERIAL) else {
        return Material::Class(String::new());
    };
    Material::Given {
        e_n_mm2: fields.need_number(desk, "e", Kind::Pressure, "11000"),
        g_n_mm2: fields.need_number(desk, "g", Kind::Pressure, "690"),
        density_kg_m3: fields.need_number(desk, "density", Kind::Density, "420"),
    }
}
