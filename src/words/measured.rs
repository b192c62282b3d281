//! Quantities in messages: the functions that a message file tells them with, so that a sentence
//! has figure and unit in the system of its reader.
//!
//! A message says `{ DEPTH($depth) }` of a depth in metres; the unit's sign comes along. `SIGN`
//! gives the sign alone, for the head of a column, `FAR` tells what is out of reach, and `UNITS` chooses between two sentences.

use fluent_bundle::FluentValue;

use super::Words;
use crate::units::system::{Measure, NAUTICAL_MILE_M, System, Unit};

/// The functions that tell a quantity, by what they measure.
const TELLING: [(&str, Measure); 9] = [
    ("DEPTH", Measure::Depth),
    ("LIMIT", Measure::Limit),
    ("STOP", Measure::Stop),
    ("PRESSURE", Measure::Pressure),
    ("NEEDED", Measure::Needed),
    ("AIR", Measure::Ambient),
    ("SIZE", Measure::Size),
    ("RATE", Measure::Rate),
    ("LENGTH", Measure::Length),
];

/// What `SIGN` is asked for.
const SIGNS: [(&str, Measure); 5] = [
    ("depth", Measure::Depth),
    ("pressure", Measure::Pressure),
    ("size", Measure::Size),
    ("rate", Measure::Rate),
    ("length", Measure::Length),
];

impl Words {
    /// Gives the messages their functions.
    pub(super) fn take_measures(&mut self) {
        let system = self.system;
        let signed: Vec<(Unit, String)> = Unit::ALL
            .into_iter()
            .map(|unit| (unit, self.say(unit.key())))
            .collect();
        let sign = move |measure: Measure| {
            let unit = measure.unit(system);
            let found = signed.iter().find(|(one, _)| *one == unit);
            found.map_or_else(String::new, |(_, sign)| sign.clone())
        };
        for (name, measure) in TELLING {
            let sign = sign(measure);
            self.take(name, move |args| {
                let figure = match args.first() {
                    Some(FluentValue::Number(number)) => measure.figure(number.value, system),
                    Some(FluentValue::String(text)) => match text.parse::<f64>() {
                        Ok(number) => measure.figure(number, system),
                        // A place that a script fills.
                        Err(_) => text.clone().into_owned(),
                    },
                    // A gap must be seen.
                    Some(_) | None => format!("{{{name}}}"),
                };
                format!("{figure} {sign}")
            });
        }
        let signs: Vec<(&str, String)> = SIGNS
            .into_iter()
            .map(|(word, measure)| (word, sign(measure)))
            .collect();
        self.take("SIGN", move |args| {
            let asked = match args.first() {
                Some(FluentValue::String(word)) => word.as_ref(),
                Some(_) | None => "",
            };
            let found = signs.iter().find(|(word, _)| *word == asked);
            found.map_or_else(|| "{SIGN}".to_owned(), |(_, sign)| sign.clone())
        });
        let far = [Unit::Kilometres, Unit::NauticalMiles].map(|unit| self.say(unit.key()));
        self.take("FAR", move |args| {
            let m = match args.first() {
                Some(FluentValue::Number(number)) => number.value,
                Some(_) | None => return "{FAR}".to_owned(),
            };
            let [km, nm] = &far;
            match system {
                System::Metric => format!("{:.0} {km}", m / 1_000.0),
                System::Imperial => format!("{:.1} {nm}", m / NAUTICAL_MILE_M),
            }
        });
        self.take("UNITS", move |_| system.word().to_owned());
    }

    fn take(
        &mut self,
        name: &str,
        tell: impl Fn(&[FluentValue<'_>]) -> String + Send + Sync + 'static,
    ) {
        let given = self
            .bundle
            .add_function(name, move |args, _| FluentValue::from(tell(args)));
        if let Err(error) = given {
            self.faults.push(error.to_string());
        }
    }
}
