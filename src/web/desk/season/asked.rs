//! Which days and which site a season is asked for: checked, with every fault beside its field.

use jiff::ToSpan;
use jiff::civil::Date;

use crate::trip::SiteId;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::form::Fields;

/// Longest season, days: three years.
const LONGEST_DAYS: i32 = 3 * 366;

/// What was asked for.
pub(super) struct Chosen {
    /// As typed, with what is wrong.
    pub fields: Fields,
    /// What it comes to, if nothing is.
    pub sound: Option<Sound>,
}

/// Days, both included, and a site.
pub(super) struct Sound {
    /// The first day.
    pub from: Date,
    /// The last day.
    pub to: Date,
    /// Only this site.
    pub site: Option<SiteId>,
}

/// The sites of the register, every site first.
pub(super) async fn sites(app: &App) -> Result<Vec<(String, String)>, Error> {
    let every = crate::web::language::words().say("season-every-site");
    let known = app.store().sites().await?.into_iter();
    let known = known.map(|site| (site.id.to_string(), site.name));
    Ok(std::iter::once((String::new(), every))
        .chain(known)
        .collect())
}

/// Out of the address; what is not given is the last twelve months of every site.
pub(super) async fn of_query(app: &App, query: Vec<(String, String)>) -> Result<Chosen, Error> {
    let zone = app.centre_zone().await?;
    let today = app.clock().now().to_zoned_datetime(zone).date();
    let given = |name: &str| {
        let mut pairs = query.iter().filter(|(given, _)| given == name);
        pairs.next().map(|(_, value)| value.trim().to_owned())
    };
    let or_day = |name: &str, day: Date| given(name).unwrap_or_else(|| day.to_string());
    let a_year_ago = today.saturating_sub(12.months()).saturating_add(1.day());
    let fields = Fields::of(vec![
        ("from".to_owned(), or_day("from", a_year_ago)),
        ("to".to_owned(), or_day("to", today)),
        ("site".to_owned(), given("site").unwrap_or_default()),
    ]);
    let day = |name: &str| {
        let day = fields.typed(name).parse::<Date>().ok();
        if day.is_none() {
            fields.fault(name, "season-fault-day", &[]);
        }
        day
    };
    let (from, to) = (day("from"), day("to"));
    let site = match fields.typed("site") {
        "" => None,
        _ => fields.parsed::<SiteId>("site"),
    };
    if let (Some(from), Some(to)) = (from, to) {
        let days = from.until(to).map_or(i32::MAX, |span| span.get_days());
        if days < 0 {
            fields.fault("to", "season-fault-order", &[]);
        } else if days > LONGEST_DAYS {
            let args = [("most", i64::from(LONGEST_DAYS).into())];
            fields.fault("to", "season-fault-long", &args);
        }
    }
    let sound = from.zip(to).filter(|_| fields.is_sound());
    Ok(Chosen {
        sound: sound.map(|(from, to)| Sound { from, to, site }),
        fields,
    })
}
