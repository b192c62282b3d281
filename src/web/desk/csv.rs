//! A roster as CSV (RFC 4180): read line by line, every fault with its line, nothing guessed
//! but the delimiter.

use jiff::civil::Date;

use crate::store::register::Contact;
use crate::trip::decide::MOST_PEOPLE;
use crate::trip::event::{Activity, Fitness, PersonCard};
use crate::units::bounds;
use crate::units::system::{Measure, System};
use crate::units::{Depth, turns_the_line};
use crate::web::form::in_words;
use crate::words::{Arg, Words};

use super::people::OLDEST;

/// Longest name or level, characters.
pub(super) const LONGEST_NAME: usize = 80;

/// A line of the file as it was read.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    /// Its number in the file, from 1.
    pub number: u64,
    /// Whom it names.
    pub card: PersonCard,
    /// Whom to call, if the file says so.
    pub contact: Option<Contact>,
    /// Day of birth, if the file says so; goes to the register only.
    pub born: Option<Date>,
}

/// What is wrong with one line; line 0 is the file as a whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Bad {
    /// Its number in the file, from 1.
    pub number: u64,
    /// Why.
    pub why: String,
}

/// A column of the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Column {
    Name,
    Level,
    Limit,
    Activity,
    LastDive,
    Fitness,
    Born,
    ContactName,
    ContactRelation,
    ContactTelephone,
}

/// Names a column may have, in small letters.
const COLUMNS: &[(&str, Column)] = &[
    ("name", Column::Name),
    ("full name", Column::Name),
    ("diver", Column::Name),
    ("level", Column::Level),
    ("certification", Column::Level),
    ("certification level", Column::Level),
    ("limit", Column::Limit),
    ("limit m", Column::Limit),
    ("depth limit", Column::Limit),
    ("depth limit m", Column::Limit),
    ("activity", Column::Activity),
    ("last dive", Column::LastDive),
    ("fitness", Column::Fitness),
    ("born", Column::Born),
    ("birth date", Column::Born),
    ("date of birth", Column::Born),
    ("contact", Column::ContactName),
    ("contact name", Column::ContactName),
    ("contact relation", Column::ContactRelation),
    ("relation", Column::ContactRelation),
    ("contact telephone", Column::ContactTelephone),
    ("contact phone", Column::ContactTelephone),
    ("telephone", Column::ContactTelephone),
    ("phone", Column::ContactTelephone),
];

/// Words for what a person does on the trip.
pub(super) const ACTIVITIES: [(&str, Activity); 4] = [
    ("diver", Activity::Diver),
    ("snorkeller", Activity::Snorkeller),
    ("passenger", Activity::Passenger),
    ("crew", Activity::Crew),
];

/// Words for fitness.
pub(super) const FITNESS: [(&str, Fitness); 2] = [
    ("cleared", Fitness::Cleared),
    ("restricted", Fitness::Restricted),
];

/// Reads a file: its people, or everything that is wrong with it.
pub(super) fn read(text: &str, t: &Words) -> Result<Vec<Line>, Vec<Bad>> {
    let whole = |key: &str, args: &[(&str, Arg)]| {
        vec![Bad {
            number: 0,
            why: t.say_with(key, args),
        }]
    };
    // One kind of line break, so that the numbers of lines are those that an editor shows.
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    let text = text.trim_start_matches('\u{feff}').trim_end();
    if text.trim().is_empty() {
        return Err(whole("csv-empty", &[]));
    }
    let lines = text.lines().filter(|line| !line.trim().is_empty()).count();
    if lines > MOST_PEOPLE + 1 {
        let args = [("lines", (lines - 1).into()), ("most", MOST_PEOPLE.into())];
        return Err(whole("csv-too-many", &args));
    }
    let mut reader = ::csv::ReaderBuilder::new()
        .delimiter(delimiter(text))
        .flexible(true)
        .trim(::csv::Trim::All)
        .from_reader(text.as_bytes());
    let columns = match reader.headers() {
        Ok(header) => header.iter().map(column).collect::<Vec<_>>(),
        Err(cause) => {
            return Err(whole(
                "csv-unreadable",
                &[("why", cause.to_string().into())],
            ));
        }
    };
    let unknown: Vec<String> = reader
        .headers()
        .map(|header| {
            header
                .iter()
                .zip(&columns)
                .filter(|(name, column)| column.is_none() && !name.is_empty())
                .map(|(name, _)| name.chars().take(40).collect())
                .collect()
        })
        .unwrap_or_default();
    if !unknown.is_empty() {
        return Err(whole(
            "csv-unknown-column",
            &[("names", unknown.join(", ").into())],
        ));
    }
    if !columns.contains(&Some(Column::Name)) {
        return Err(whole("csv-no-name-column", &[]));
    }
    let mut good = Vec::new();
    let mut bad = Vec::new();
    for record in reader.records() {
        match record {
            Ok(record) => {
                let number = record.position().map_or(0, ::csv::Position::line);
                match line(number, &columns, &record, t) {
                    Ok(line) => good.push(line),
                    Err(why) => bad.extend(why),
                }
            }
            Err(cause) => bad.push(Bad {
                number: cause.position().map_or(0, ::csv::Position::line),
                why: t.say_with("csv-unreadable", &[("why", cause.to_string().into())]),
            }),
        }
    }
    if bad.is_empty() && good.is_empty() {
        return Err(whole("csv-empty", &[]));
    }
    if bad.is_empty() { Ok(good) } else { Err(bad) }
}

/// The commoner of comma, semicolon and tab in the header.
/// What parts the cells, by the first line.
pub(super) fn delimiter(text: &str) -> u8 {
    let header = text.lines().next().unwrap_or_default();
    [b',', b';', b'\t']
        .into_iter()
        .max_by_key(|mark| header.bytes().filter(|byte| byte == mark).count())
        .filter(|mark| header.bytes().any(|byte| byte == *mark))
        .unwrap_or(b',')
}

fn column(name: &str) -> Option<Column> {
    let plain = name.to_lowercase().replace(['_', '-', '(', ')'], " ");
    let plain = plain.split_whitespace().collect::<Vec<_>>().join(" ");
    COLUMNS
        .iter()
        .find(|(word, _)| *word == plain)
        .map(|(_, column)| *column)
}

fn line(
    number: u64,
    columns: &[Option<Column>],
    record: &::csv::StringRecord,
    t: &Words,
) -> Result<Line, Vec<Bad>> {
    let mut bad = Vec::new();
    if record.len() > columns.len() {
        bad.push(Bad {
            number,
            why: t.say_with(
                "csv-too-many-fields",
                &[("n", record.len().into()), ("of", columns.len().into())],
            ),
        });
    }
    let cell = |wanted: Column| {
        columns
            .iter()
            .zip(record.iter())
            .find(|(column, _)| **column == Some(wanted))
            .map_or("", |(_, text)| text)
    };
    let typed = Typed {
        name: cell(Column::Name),
        level: cell(Column::Level),
        limit: cell(Column::Limit),
        // A file says metres in the name of its column, whatever the pages tell.
        limit_in: Some(System::Metric),
        activity: cell(Column::Activity),
        last_dive: cell(Column::LastDive),
        fitness: cell(Column::Fitness),
    };
    let card = match typed.card(t) {
        Ok(card) => Some(card),
        Err(why) => {
            bad.extend(why.into_iter().map(|(_, why)| Bad { number, why }));
            None
        }
    };
    let born = match cell(Column::Born) {
        "" => None,
        text => {
            let day = text.parse::<Date>().ok().filter(|day| *day >= OLDEST);
            if day.is_none() {
                bad.push(Bad {
                    number,
                    why: t.say("csv-born"),
                });
            }
            day
        }
    };
    let contact = Contact {
        name: cell(Column::ContactName).to_owned(),
        relation: cell(Column::ContactRelation).to_owned(),
        telephone: cell(Column::ContactTelephone).to_owned(),
    };
    if [&contact.name, &contact.relation, &contact.telephone]
        .into_iter()
        .any(|text| !is_printable(text) || text.chars().count() > LONGEST_NAME)
    {
        bad.push(Bad {
            number,
            why: t.say("csv-contact"),
        });
    }
    let contact = Some(contact).filter(|c| !(c.name.is_empty() && c.telephone.is_empty()));
    match card {
        Some(card) if bad.is_empty() => Ok(Line {
            number,
            card,
            contact,
            born,
        }),
        _ => Err(bad),
    }
}

fn is_printable(text: &str) -> bool {
    !text.chars().any(|c| c.is_control() || turns_the_line(c))
}

/// What was typed of a person, on a line or in a cell each.
#[derive(Debug, Default)]
pub(super) struct Typed<'a> {
    /// Name.
    pub name: &'a str,
    /// Certification level.
    pub level: &'a str,
    /// Depth limit.
    pub limit: &'a str,
    /// The units it is typed in, if that is known.
    pub limit_in: Option<System>,
    /// What the person does; a diver, if not said.
    pub activity: &'a str,
    /// Date of the last dive.
    pub last_dive: &'a str,
    /// Fitness; cleared, if not said.
    pub fitness: &'a str,
}

impl Typed<'_> {
    /// As a card, or every fault with its field.
    pub(super) fn card(&self, t: &Words) -> Result<PersonCard, Vec<(&'static str, String)>> {
        let mut bad = Vec::new();
        let mut fault = |field: &'static str, key: &str, args: &[(&str, Arg)]| {
            bad.push((field, t.say_with(key, args)));
        };
        let longest = [("longest", LONGEST_NAME.into())];
        if self.name.is_empty() {
            fault("name", "csv-name-empty", &[]);
        }
        for (field, text) in [("name", self.name), ("level", self.level)] {
            if text.chars().count() > LONGEST_NAME {
                fault(field, "fault-long", &longest);
            }
            if !is_printable(text) {
                fault(field, "fault-control", &[]);
            }
        }
        let activity = match self.activity.to_lowercase().as_str() {
            "" => Some(Activity::Diver),
            word => ACTIVITIES.iter().find(|(w, _)| *w == word).map(|(_, a)| *a),
        };
        if activity.is_none() {
            fault("activity", "csv-activity", &[]);
        }
        let fitness = match self.fitness.to_lowercase().as_str() {
            "" => Some(Fitness::Cleared),
            word => FITNESS.iter().find(|(w, _)| *w == word).map(|(_, f)| *f),
        };
        if fitness.is_none() {
            fault("fitness", "csv-fitness", &[]);
        }
        let depth_limit_m = match (self.limit, self.limit_in) {
            ("", _) => Some(None),
            (_, None) => {
                fault("limit", "fault-units", &[]);
                None
            }
            (text, Some(system)) => {
                let figure = match system {
                    System::Metric => text.trim_end_matches(['m', 'M', ' ']),
                    System::Imperial => text.trim_end_matches(['f', 't', 'F', 'T', ' ']),
                };
                let limit = Measure::Limit
                    .read(figure, system)
                    .and_then(|m| Depth::from_m(m).ok());
                if limit.is_none() {
                    let allowed = in_words(&bounds::DEPTH_LIMIT_M, system);
                    fault("limit", "csv-limit", &[("allowed", allowed.into())]);
                }
                limit.map(Some)
            }
        };
        if activity == Some(Activity::Diver) && depth_limit_m == Some(None) {
            fault("limit", "csv-limit-missing", &[]);
        }
        let last_dive = match self.last_dive {
            "" => Some(None),
            text => text.parse::<Date>().ok().map(Some),
        };
        if last_dive.is_none() {
            fault("last_dive", "csv-last-dive", &[]);
        }
        match (activity, fitness, depth_limit_m, last_dive) {
            (Some(activity), Some(fitness), Some(depth_limit_m), Some(last_dive))
                if bad.is_empty() =>
            {
                Ok(PersonCard {
                    name: self.name.to_owned(),
                    activity,
                    level: self.level.to_owned(),
                    depth_limit_m,
                    fitness,
                    last_dive,
                })
            }
            _ => Err(bad),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words() -> &'static Words {
        Words::english()
    }

    #[test]
    fn columns_go_by_their_names_and_either_delimiter() {
        for text in [
            "Name;Certification;Depth limit (m)\nIris Wren;autonomous diver;30\n",
            "\u{feff}limit,full_name,LEVEL\r\n30,Iris Wren,autonomous diver\r\n",
            "depth_limit_m\tname\tlevel\n30 m\tIris Wren\tautonomous diver",
        ] {
            let read = read(text, words()).unwrap();
            assert_eq!(read.len(), 1, "{text}");
            assert_eq!(read[0].number, 2);
            assert_eq!(read[0].card.name, "Iris Wren");
            assert_eq!(read[0].card.level, "autonomous diver");
            assert_eq!(read[0].card.depth_limit_m, Depth::from_m(30.0).ok());
        }
    }

    /// RFC 4180, section 2, rules 5 to 7: quoted fields hold delimiters, breaks and quotes.
    #[test]
    fn quoted_fields_hold_delimiters_and_quotes() {
        let text = "name,level,limit\n\"Wren, \"\"Bo\"\" Iris\",,18\n";
        assert_eq!(
            read(text, words()).unwrap()[0].card.name,
            "Wren, \"Bo\" Iris"
        );
    }

    #[test]
    fn every_bad_line_is_named_with_its_number() {
        let text =
            "name,limit,activity\nA,18,\n,18,\nB,NaN,\nC,,passenger\nD,,\nE,18,pilot\nF,1,2,3,4\n";
        let bad = read(text, words()).unwrap_err();
        let lines: Vec<u64> = bad.iter().map(|b| b.number).collect();
        assert_eq!(lines, [3, 4, 6, 7, 8, 8]);
    }

    /// Browsers send what is typed into a text area with CR LF (WHATWG HTML, 4.10.22.6).
    #[test]
    fn lines_are_numbered_alike_whatever_ends_them() {
        for end in ["\n", "\r\n", "\r"] {
            let text = ["name,limit", "A,18", "B,x", "C,18"].join(end);
            let bad = read(&text, words()).unwrap_err();
            assert_eq!(bad[0].number, 3, "{end:?}");
        }
    }

    #[test]
    fn names_of_any_script_are_taken_as_they_are() {
        let text = "name,limit\n田中 太郎,18\nЮлия Ёлкина,18\n<b>Bo</b>,18\nمريم,18\n";
        let names: Vec<String> = read(text, words())
            .unwrap()
            .into_iter()
            .map(|line| line.card.name)
            .collect();
        assert_eq!(names, ["田中 太郎", "Юлия Ёлкина", "<b>Bo</b>", "مريم"]);
    }

    #[test]
    fn too_many_none_and_unknown_columns_are_refused_as_a_whole() {
        let many = format!("name,limit\n{}", "A,18\n".repeat(10_000));
        let none = "name,limit\n";
        let headless = "Iris Wren,autonomous,30\n";
        for text in [many.as_str(), none, headless, "", "level,limit\nx,18\n"] {
            let bad = read(text, words()).unwrap_err();
            assert_eq!(bad.len(), 1);
            assert_eq!(bad[0].number, 0);
        }
    }
}
