//! Check values of the fixture, each with its source and basis.

use serde_json::Value;

/// One example of the fixture. Every expected value must be asked for, or named as left out with a reason.
pub struct Example {
    pub body: Value,
    asked: Vec<String>,
}

impl Example {
    pub fn of(id: &str) -> Self {
        let all: Value = serde_json::from_str(include_str!("../fixtures/timber_members.json")).unwrap();
        let found = all["examples"].as_array().unwrap().iter().find(|e| e["id"] == id);
        Self { body: found.unwrap_or_else(|| panic!("no example {id}")).clone(), asked: Vec::new() }
    }

    pub fn input(&self, name: &str) -> f64 {
        self.body["inputs"][name].as_f64().unwrap_or_else(|| panic!("{} has no input {name}", self.body["id"]))
    }

    pub fn expect(&mut self, name: &str, found: f64) {
        let expected = &self.body["expected"][name];
        let value = expected["value"].as_f64().unwrap_or_else(|| panic!("no expected {name}"));
        let tolerance = match (expected["tol_abs"].as_f64(), expected["tol_rel"].as_f64()) {
            (Some(absolute), _) => absolute,
            (None, Some(relative)) => relative * value.abs(),
            (None, None) => panic!("{name} has no tolerance"),
        };
        let (id, basis) = (&self.body["id"], &expected["basis"]);
        assert!((found - value).abs() <= tolerance, "{id} {name}: found {found}, {basis} {value}");
        self.asked.push(name.to_owned());
    }

    /// Not for these rules; the reason stands at the call.
    pub fn leave_out(&mut self, names: &[&str]) {
        self.asked.extend(names.iter().map(|name| (*name).to_owned()));
    }

    pub fn done(self) {
        for name in self.body["expected"].as_object().unwrap().keys() {
            assert!(self.asked.contains(name), "{}: {name} was not checked", self.body["id"]);
        }
    }
}
