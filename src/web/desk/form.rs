//! A form of the desk as its page shows it: what stands in each field, what is wrong, and the
//! hidden fields that go with it.

use crate::web::app::App;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::live::Snapshot;
use crate::web::page;
use crate::web::parts::{Choice, FieldFault, fault_of};

/// A form to be drawn.
#[derive(Debug, Default)]
pub(super) struct Shown {
    values: Vec<(String, String)>,
    /// What is wrong.
    pub faults: Vec<FieldFault>,
    /// Hidden fields.
    pub tokens: Vec<(String, String)>,
}

impl Shown {
    /// A form of a trip.
    pub(super) fn of_trip(app: &App, trip: &Snapshot) -> Self {
        Self {
            tokens: page::tokens(app, trip),
            ..Self::default()
        }
    }

    /// A form outside any trip.
    pub(super) fn plain(app: &App) -> Self {
        let form = app.clock().new_uuid().to_string();
        let mut tokens = vec![("form".to_owned(), form)];
        tokens.extend(crate::web::form::typed_in());
        Self {
            tokens,
            ..Self::default()
        }
    }

    /// With a value to start from.
    pub(super) fn with(mut self, name: &str, value: impl Into<String>) -> Self {
        self.values.push((name.to_owned(), value.into()));
        self
    }

    /// With another value than it would start from.
    pub(super) fn instead(mut self, name: &str, value: impl Into<String>) -> Self {
        self.values.retain(|(n, _)| n != name);
        self.with(name, value)
    }

    /// As it was typed, with what is wrong; the tokens stay those of a fresh page.
    pub(super) fn refused(mut self, fields: &Fields, faults: Vec<FieldFault>) -> Self {
        self.values = fields.pairs().to_vec();
        self.faults = faults;
        // What concerns no field of its own leads to the page as a whole.
        for fault in &mut self.faults {
            if fault.field.is_empty() {
                "main".clone_into(&mut fault.field);
            }
        }
        self
    }

    /// What stands in a field.
    pub(super) fn v(&self, name: &str) -> &str {
        self.values
            .iter()
            .find(|(n, _)| n == name)
            .map_or("", |(_, v)| v.as_str())
    }

    /// Whether this value is chosen under a name.
    pub(super) fn is(&self, name: &str, value: &str) -> bool {
        self.values.iter().any(|(n, v)| n == name && v == value)
    }

    /// Everything that stands under one name.
    pub(super) fn all(&self, name: &str) -> Vec<String> {
        let of_name = self.values.iter().filter(|(n, _)| n == name);
        of_name.map(|(_, v)| v.clone()).collect()
    }

    /// What is wrong with the field of this name that belongs to one of a list.
    pub(super) fn fault(&self, name: &str, of: &str) -> String {
        fault_of(&self.faults, &format!("{name}-{of}")).to_owned()
    }

    /// Choices of a select, with what stands in the field chosen.
    pub(super) fn choose(&self, name: &str, choices: &[(String, String)]) -> Vec<Choice> {
        choices
            .iter()
            .map(|(value, label)| Choice {
                value: value.clone(),
                label: label.clone(),
                note: String::new(),
                chosen: self.is(name, value),
            })
            .collect()
    }

    /// Marks the page as one with faults.
    pub(super) fn mark(&self, frame: &mut Frame) {
        if !self.faults.is_empty() {
            frame.title_prefix = frame.t.say("error-prefix");
        }
    }
}

/// Leads faults of the rules to the fields of this page.
pub(super) fn lead(faults: Vec<FieldFault>, to: &[(&str, &str)]) -> Vec<FieldFault> {
    faults
        .into_iter()
        .map(|mut fault| {
            if let Some((_, field)) = to.iter().find(|(from, _)| *from == fault.field) {
                (*field).clone_into(&mut fault.field);
            }
            fault
        })
        .collect()
}

/// Notes faults of a pure room in the form's words. `place`: for the path of a fault, the field
/// it stands in and what people call that.
pub(super) fn note(
    fields: &Fields,
    faults: &crate::units::Faults,
    place: impl Fn(&str) -> (String, String),
) {
    for fault in faults.iter() {
        let (field, called) = place(&fault.path);
        let key = if fault.allowed.is_empty() {
            "desk-fault-plain"
        } else {
            "desk-fault"
        };
        fields.fault(
            &field,
            key,
            &[
                ("called", called.into()),
                ("what", fault.what.as_str().into()),
                ("allowed", fault.allowed.as_str().into()),
            ],
        );
    }
}
