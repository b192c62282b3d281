//! What basic mode has: the board and the acts of a trip, over plain HTTP beside an https
//! address. What could be overheard and misused ashore is left to https: contacts, codes and
//! accounts, the desk's register, what was seen of people in incidents, and whole logs. What is not named here it has not.

/// Pages everybody meets, whole paths.
const DOOR: &[&str] = &[
    "/",
    "/enrol",
    "/sign-in",
    "/sign-out",
    "/palette",
    "/language",
    "/alone",
    "/logs",
    "/sw.js",
    "/deckwatch.webmanifest",
    "/authority",
    "/authority.crt",
    "/desk",
    "/desk/new",
    "/api/health",
    "/api/openapi.json",
    "/api/notices",
    "/api/watching",
    "/api/trips",
];

/// Beginnings of paths: static files and computations, and all of a trip.
const WITHIN: &[&str] = &[
    "/static/",
    "/api/compute/",
    "/api/trips/{trip}/",
    "/helm/{trip}",
    "/deck/{trip}",
    "/desk/{trip}",
];

/// What a trip has that is left to https: sealed contacts, codes, devices and accounts, the records
/// of incidents, and what is taken away whole.
const NOT: &[&str] = &[
    "/helm/{trip}/handover/contacts",
    "/deck/{trip}/handover/contacts",
    "/helm/{trip}/devices",
    "/helm/{trip}/crew",
    "/desk/{trip}/roster",
    "/desk/{trip}/incident",
    "/desk/{trip}/own-dives",
    "/desk/{trip}/copy",
    "/api/trips/{trip}/log",
    "/api/trips/{trip}/report.csv",
    "/api/trips/{trip}/report.json",
    "/api/trips/{trip}/returns.csv",
];

/// Whether basic mode has a route, by its path with the parts in braces.
#[must_use]
pub fn has(route: &str) -> bool {
    let below = |start: &&str| {
        route
            .strip_prefix(*start)
            .is_some_and(|rest| start.ends_with('/') || rest.is_empty() || rest.starts_with('/'))
    };
    (DOOR.contains(&route) || WITHIN.iter().any(below)) && !NOT.iter().any(below)
}

#[cfg(test)]
mod tests {
    use super::has;
    use crate::web::router::routes;

    #[test]
    fn what_basic_mode_leaves_out_is_a_list_that_somebody_thought_about() {
        let mut left_out: Vec<&str> = routes()
            .iter()
            .map(|route| route.path)
            .filter(|path| !has(path))
            .collect();
        left_out.sort_unstable();
        left_out.dedup();
        let register = |path: &&str| {
            ["people", "boats", "sites", "crew"]
                .iter()
                .any(|part| path.starts_with(&format!("/desk/{part}")))
        };
        let others: Vec<&str> = left_out.iter().copied().filter(|p| !register(p)).collect();
        assert!(left_out.iter().any(register), "{left_out:?}");
        assert_eq!(
            others,
            [
                "/api/trips/{trip}/log",
                "/api/trips/{trip}/report.csv",
                "/api/trips/{trip}/report.json",
                "/api/trips/{trip}/returns.csv",
                "/deck/{trip}/handover/contacts",
                "/desk/audit",
                "/desk/audit.csv",
                "/desk/cylinders",
                "/desk/cylinders/{cylinder}",
                "/desk/cylinders/{cylinder}/fill",
                "/desk/cylinders/{cylinder}/remove",
                "/desk/day/{day}",
                "/desk/month",
                "/desk/month/{month}",
                "/desk/retention",
                "/desk/retention/{trip}",
                "/desk/season",
                "/desk/season/{from}/{to}/{site}/{name}",
                "/desk/units",
                "/desk/{trip}/copy",
                "/desk/{trip}/incident",
                "/desk/{trip}/own-dives",
                "/desk/{trip}/own-dives/{person}",
                "/desk/{trip}/roster",
                "/desk/{trip}/roster/csv",
                "/desk/{trip}/roster/csv/confirm",
                "/desk/{trip}/roster/waiting/{person}/off",
                "/desk/{trip}/roster/waiting/{person}/up",
                "/desk/{trip}/roster/{person}",
                "/desk/{trip}/roster/{person}/coming",
                "/desk/{trip}/roster/{person}/earlier",
                "/desk/{trip}/roster/{person}/not-coming",
                "/desk/{trip}/roster/{person}/without-consent",
                "/helm/{trip}/crew",
                "/helm/{trip}/devices",
                "/helm/{trip}/devices/code",
                "/helm/{trip}/devices/{device}",
                "/helm/{trip}/handover/contacts",
                "/set-up",
            ]
        );
    }

    #[test]
    fn what_nobody_named_is_left_out() {
        for path in [
            "/backup",
            "/api/backup",
            "/desks",
            "/helmet/{trip}",
            "/api/trips/{trip}/log/raw",
        ] {
            assert!(!has(path), "{path}");
        }
        for path in [
            "/helm/{trip}/person/{person}",
            "/helm/{trip}",
            "/api/trips/{trip}/live",
        ] {
            assert!(has(path), "{path}");
        }
    }
}
