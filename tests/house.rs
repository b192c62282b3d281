//! The house: a room uses only rooms below it, and the pure rooms touch neither the machine nor
//! its clock. No compiler guards this inside one crate, so the sources are read here.
//!
//! Test code is passed over: what stands under `#[cfg(test)]`.

#[cfg(test)]
mod rooms {
    #![expect(
        clippy::wildcard_enum_match_arm,
        reason = "the grammar of the language grows, and what is new has no attributes here"
    )]

    use std::collections::BTreeSet;
    use std::path::{Path, PathBuf};

    use syn::visit::{self, Visit};
    use syn::{Attribute, Item, ItemMacro, ItemUse, Macro, Path as SynPath, UseTree};

    /// The rooms from the ground up, and which rooms each may use besides itself.
    const ROOMS: &[(&str, &[&str])] = &[
        ("units", &[]),
        ("words", &["units"]),
        ("dive", &["units", "words"]),
        ("sea", &["units"]),
        ("trip", &["units", "words", "dive", "sea"]),
        ("clock", &["units"]),
        ("store", &["units", "words", "dive", "sea", "trip", "clock"]),
        ("instruments", &["units", "sea", "trip", "clock"]),
        ("sounder", &["units", "trip", "clock"]),
        ("certificate", &[]),
        (
            "hub",
            &["units", "words", "dive", "sea", "trip", "clock", "store"],
        ),
        (
            "web",
            &[
                "units",
                "words",
                "dive",
                "sea",
                "trip",
                "clock",
                "store",
                "instruments",
                "sounder",
                "certificate",
                "hub",
            ],
        ),
        (
            "cli",
            &[
                "units",
                "words",
                "dive",
                "sea",
                "trip",
                "clock",
                "store",
                "instruments",
                "sounder",
                "certificate",
                "hub",
                "web",
            ],
        ),
    ];

    /// Rooms that do no input or output, read no clock and draw nothing by lot.
    const PURE: [&str; 5] = ["units", "words", "dive", "sea", "trip"];

    /// What pure rooms do not name, as beginnings of paths.
    const FORBIDDEN: &[&str] = &[
        "tokio",
        "axum",
        "axum_extra",
        "sqlx",
        "tower",
        "tower_http",
        "rand",
        "getrandom",
        "rustix",
        "tracing",
        "std::fs",
        "std::env",
        "std::net",
        "std::io",
        "std::process",
        "std::thread",
        "std::time::SystemTime",
        "std::time::Instant",
        "jiff::Timestamp::now",
        "jiff::Zoned::now",
        "Timestamp::now",
        "Zoned::now",
        "SystemTime",
        "Instant",
        "Uuid::now_v7",
        "Uuid::new_v4",
        "uuid::Uuid::now_v7",
        "uuid::Uuid::new_v4",
    ];

    /// Every path a file names outside tests, with the line of its first word.
    #[derive(Default)]
    struct Named {
        paths: Vec<(Vec<String>, usize)>,
    }

    fn is_test(attributes: &[Attribute]) -> bool {
        attributes.iter().any(|attribute| {
            attribute.path().is_ident("cfg")
                && attribute
                    .parse_args::<SynPath>()
                    .is_ok_and(|path| path.is_ident("test"))
        })
    }

    impl Named {
        fn of(text: &str) -> Self {
            let file = syn::parse_file(text).expect("a source that compiles");
            let mut named = Self::default();
            named.visit_file(&file);
            named
        }

        fn tree(&mut self, before: &[String], tree: &UseTree) {
            match tree {
                UseTree::Path(path) => {
                    let mut longer = before.to_vec();
                    longer.push(path.ident.to_string());
                    self.tree(&longer, &path.tree);
                }
                UseTree::Name(name) => self.note(before, &name.ident),
                UseTree::Rename(rename) => self.note(before, &rename.ident),
                UseTree::Glob(glob) => {
                    let line = glob.star_token.spans[0].start().line;
                    self.paths.push((before.to_vec(), line));
                }
                UseTree::Group(group) => {
                    for inner in &group.items {
                        self.tree(before, inner);
                    }
                }
            }
        }

        fn note(&mut self, before: &[String], last: &proc_macro2::Ident) {
            let mut whole = before.to_vec();
            whole.push(last.to_string());
            self.paths.push((whole, last.span().start().line));
        }

        /// Paths inside a macro's tokens, as written: `json!({"a": crate::clock::now()})`.
        fn tokens(&mut self, tokens: proc_macro2::TokenStream) {
            let mut path: Vec<String> = Vec::new();
            let mut line = 0;
            let mut joined = 0;
            for token in tokens {
                match token {
                    proc_macro2::TokenTree::Ident(ident) => {
                        if joined != 2 && !path.is_empty() {
                            self.paths.push((std::mem::take(&mut path), line));
                        }
                        if path.is_empty() {
                            line = ident.span().start().line;
                        }
                        path.push(ident.to_string());
                        joined = 0;
                    }
                    proc_macro2::TokenTree::Punct(punct) if punct.as_char() == ':' => joined += 1,
                    other @ (proc_macro2::TokenTree::Group(_)
                    | proc_macro2::TokenTree::Punct(_)
                    | proc_macro2::TokenTree::Literal(_)) => {
                        if !path.is_empty() {
                            self.paths.push((std::mem::take(&mut path), line));
                        }
                        joined = 0;
                        if let proc_macro2::TokenTree::Group(group) = other {
                            self.tokens(group.stream());
                        }
                    }
                }
            }
            if !path.is_empty() {
                self.paths.push((path, line));
            }
        }
    }

    impl<'ast> Visit<'ast> for Named {
        fn visit_item(&mut self, item: &'ast Item) {
            let attributes: &[Attribute] = match item {
                Item::Mod(item) => &item.attrs,
                Item::Use(item) => &item.attrs,
                Item::Fn(item) => &item.attrs,
                Item::Impl(item) => &item.attrs,
                Item::Const(item) => &item.attrs,
                Item::Struct(item) => &item.attrs,
                Item::Enum(item) => &item.attrs,
                Item::Static(item) => &item.attrs,
                Item::Macro(item) => &item.attrs,
                _ => &[],
            };
            if !is_test(attributes) {
                visit::visit_item(self, item);
            }
        }

        fn visit_item_use(&mut self, item: &'ast ItemUse) {
            self.tree(&[], &item.tree);
        }

        fn visit_item_macro(&mut self, item: &'ast ItemMacro) {
            self.visit_macro(&item.mac);
        }

        fn visit_path(&mut self, path: &'ast SynPath) {
            if let Some(first) = path.segments.first() {
                let line = first.ident.span().start().line;
                let names = path.segments.iter().map(|s| s.ident.to_string()).collect();
                self.paths.push((names, line));
            }
            visit::visit_path(self, path);
        }

        fn visit_macro(&mut self, found: &'ast Macro) {
            self.tokens(found.tokens.clone());
            visit::visit_macro(self, found);
        }
    }

    /// A path from the crate's root, with `self` and `super` followed from `module`.
    fn from_root(path: &[String], module: &[String]) -> Vec<String> {
        let mut here = module.to_vec();
        let mut rest = path;
        match rest.first().map(String::as_str) {
            Some("self") => rest = &rest[1..],
            Some("super") => {
                while rest.first().is_some_and(|name| name == "super") {
                    here.pop();
                    rest = &rest[1..];
                }
            }
            Some(_) | None => return path.to_vec(),
        }
        let root = ["crate".to_owned()];
        root.into_iter()
            .chain(here)
            .chain(rest.iter().cloned())
            .collect()
    }

    /// What is wrong with a file of a room, one line for each.
    fn wrongs(room: &str, module: &[String], text: &str) -> Vec<String> {
        let (_, allowed) = ROOMS
            .iter()
            .find(|(name, _)| *name == room)
            .unwrap_or_else(|| panic!("'{room}' is no room: give it a place in the house"));
        let mut wrongs = BTreeSet::new();
        for (path, line) in Named::of(text).paths {
            let path = from_root(&path, module);
            if path.first().is_some_and(|first| first == "crate")
                && let Some(used) = path.get(1)
                && ROOMS.iter().any(|(name, _)| name == used)
                && used != room
                && !allowed.contains(&used.as_str())
            {
                wrongs.insert(format!(
                    "line {line}: {room} uses {used}, which is not below it"
                ));
            }
            if PURE.contains(&room) {
                let whole = path.join("::");
                let named = FORBIDDEN.iter().find(|forbidden| {
                    whole == **forbidden || whole.starts_with(&format!("{forbidden}::"))
                });
                if let Some(forbidden) = named {
                    wrongs.insert(format!("line {line}: {room} names {forbidden}"));
                }
            }
        }
        wrongs.into_iter().collect()
    }

    fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                sources(&path, found);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                found.push(path);
            }
        }
    }

    /// Files that are modules of tests as a whole: their parent declares them so.
    fn is_test_file(path: &Path, declared: &BTreeSet<PathBuf>) -> bool {
        declared
            .iter()
            .any(|test| path == test.with_extension("rs") || path.starts_with(test))
    }

    /// The module of a file below `src`: `trip/event/wire.rs` is trip, event, wire.
    fn module_of(path: &Path, src: &Path) -> Vec<String> {
        let inside = path.strip_prefix(src).unwrap().with_extension("");
        let mut parts: Vec<String> = inside
            .iter()
            .map(|part| part.to_string_lossy().into_owned())
            .collect();
        if parts.last().is_some_and(|last| last == "mod") {
            parts.pop();
        }
        parts
    }

    /// Modules declared under `#[cfg(test)]`, as paths without ending.
    fn test_modules(path: &Path, text: &str) -> Vec<PathBuf> {
        let folder = if path.ends_with("mod.rs") || path.ends_with("lib.rs") {
            path.parent().unwrap().to_owned()
        } else {
            path.with_extension("")
        };
        let file = syn::parse_file(text).expect("a source that compiles");
        file.items
            .iter()
            .filter_map(|item| {
                let Item::Mod(item) = item else { return None };
                let outside = item.content.is_none() && is_test(&item.attrs);
                outside.then(|| folder.join(item.ident.to_string()))
            })
            .collect()
    }

    #[test]
    fn each_room_uses_only_rooms_below_it_and_the_pure_ones_stay_pure() {
        let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
        let mut files = Vec::new();
        sources(&src, &mut files);
        let mut declared = BTreeSet::new();
        for path in &files {
            let text = std::fs::read_to_string(path).unwrap();
            declared.extend(test_modules(path, &text));
        }
        let mut all = Vec::new();
        let mut looked_at = BTreeSet::new();
        for path in &files {
            let module = module_of(path, &src);
            let root = path.ends_with("lib.rs") || path.ends_with("main.rs");
            if root || is_test_file(path, &declared) {
                continue;
            }
            let room = module[0].clone();
            let text = std::fs::read_to_string(path).unwrap();
            let inside = path.strip_prefix(&src).unwrap().display().to_string();
            let found = wrongs(&room, &module, &text);
            all.extend(
                found
                    .into_iter()
                    .map(|wrong| format!("src/{inside} {wrong}")),
            );
            looked_at.insert(room);
        }
        assert!(all.is_empty(), "{}", all.join("\n"));
        for pure in PURE {
            assert!(looked_at.contains(pure), "no source of {pure} was read");
        }
    }

    /// The reader of sources is itself looked at: each of these is wrong.
    #[test]
    fn a_wrong_arrow_is_found_however_it_is_written() {
        for (room, text) in [
            ("sea", "use crate::dive::gas;"),
            ("sea", "use crate::{units::Depth, dive::{gas, plan}};"),
            ("sea", "fn f() { let _ = crate::dive::gas::END; }"),
            ("sea", "fn f() -> crate::trip::TripId { todo() }"),
            ("sea", "fn f() { g::<crate::dive::Plan>() }"),
            ("sea", "fn f() { json!({\"a\": crate::dive::GAS}) }"),
            ("sea", "impl crate::store::Trait for X {}"),
            ("sea", "use super::super::dive::gas;"),
            ("trip", "use crate::clock::Clock;"),
            ("store", "use crate::web::app as other;"),
            ("clock", "use crate::store::*;"),
            ("web", "use crate::cli::serve;"),
            ("dive", "use tokio::sync::Mutex;"),
            ("dive", "use std::{collections::BTreeMap, fs};"),
            ("dive", "fn f() { std::env::var(\"X\").unwrap(); }"),
            ("dive", "fn f() { let t = jiff::Timestamp::now(); }"),
            ("dive", "use std::time::{Duration, Instant};"),
            ("trip", "fn f() { rand::random::<u8>(); }"),
            ("units", "#[cfg(not(test))] use std::net::TcpStream;"),
        ] {
            let module = [room.to_owned(), "part".to_owned()];
            assert!(!wrongs(room, &module, text).is_empty(), "{room}: {text}");
        }
    }

    #[test]
    fn what_is_right_is_left_alone() {
        for (room, text) in [
            ("sea", "use crate::units::{Depth, Faults};"),
            ("sea", "use super::position::Position; use self::inner::X;"),
            ("trip", "use crate::{dive::gas, sea::chart};"),
            ("store", "use crate::{clock::Clock, trip::TripId};"),
            (
                "sea",
                "#[cfg(test)] mod tests { use crate::dive::gas; use std::fs; }",
            ),
            ("sea", "#[cfg(test)] use rand::Rng;"),
            ("dive", "use std::time::Duration;"),
            ("dive", "use jiff::{SignedDuration, Timestamp};"),
        ] {
            let module = [room.to_owned(), "part".to_owned()];
            assert_eq!(
                wrongs(room, &module, text),
                Vec::<String>::new(),
                "{room}: {text}"
            );
        }
    }
}
