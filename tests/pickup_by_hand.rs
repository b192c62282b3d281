//! Pickup orders against a second reckoning, written apart from the solver: all orders are
//! tried, runs are found with the predicates of the `geo` library on a finely sampled
//! buffer, arrivals by stepping through time. It shares with the solver only the definitions.
//!
//! It is slow and plain on purpose. Its figures are good to a fraction of a second.
#![cfg(test)]
#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "steps of time are small whole numbers"
)]

use deckwatch::sea::position::{LocalPlane, Position};
use deckwatch::trip::pickup;
use geo::{
    BoundingRect as _, Contains as _, Coord, Distance as _, Euclidean, Intersects as _, Line,
    LineString, Point, Polygon,
};
use rand::rngs::StdRng;
use rand::{RngExt as _, SeedableRng as _};
use serde_json::{Value, json};

const STEP_S: f64 = 1.0;
const ARC: f64 = 0.02;

struct Site {
    areas: Vec<Polygon>,
    stand_off: f64,
    /// Points on the exact outline of the buffers, the nodes of ways round.
    outline: Vec<Coord>,
    /// Shortest lengths between them.
    between: Vec<Vec<f64>>,
}

impl Site {
    fn new(areas: Vec<Polygon>, stand_off: f64) -> Self {
        let mut site = Self {
            areas,
            stand_off,
            outline: Vec::new(),
            between: Vec::new(),
        };
        let mut outline = Vec::new();
        for area in &site.areas {
            for line in area.exterior().lines() {
                let turns = (std::f64::consts::TAU / 0.1).ceil();
                // A hair further out than the stand-off, for the chords between them.
                let radius = stand_off / (std::f64::consts::PI / turns).cos() + 0.01;
                let mut turn = 0.0;
                while turn < turns {
                    let angle = turn / turns * std::f64::consts::TAU;
                    outline.push(
                        line.start
                            + Coord {
                                x: angle.cos() * radius,
                                y: angle.sin() * radius,
                            },
                    );
                    turn += 1.0;
                }
            }
        }
        outline.retain(|&at| site.off(at) >= stand_off + 0.005);
        site.between = vec![vec![f64::INFINITY; outline.len()]; outline.len()];
        for i in 0..outline.len() {
            site.between[i][i] = 0.0;
            for j in 0..i {
                if site.is_clear(outline[i], outline[j]) {
                    let length = length(outline[i], outline[j]);
                    site.between[i][j] = length;
                    site.between[j][i] = length;
                }
            }
        }
        // Floyd and Warshall.
        for k in 0..outline.len() {
            for i in 0..outline.len() {
                for j in 0..outline.len() {
                    let through = site.between[i][k] + site.between[k][j];
                    if through < site.between[i][j] {
                        site.between[i][j] = through;
                    }
                }
            }
        }
        site.outline = outline;
        site
    }

    /// Distance to the areas, negative inside.
    fn off(&self, at: Coord) -> f64 {
        let point = Point(at);
        self.areas
            .iter()
            .map(|area| {
                let edge = Euclidean.distance(&point, area.exterior());
                if area.contains(&point) { -edge } else { edge }
            })
            .fold(f64::INFINITY, f64::min)
    }

    fn is_in_area(&self, at: Coord) -> bool {
        self.areas.iter().any(|area| area.contains(&Point(at)))
    }

    fn is_clear(&self, a: Coord, b: Coord) -> bool {
        let line = Line::new(a, b);
        self.areas.iter().all(|area| {
            let bounds = area.bounding_rect().unwrap();
            let reach = line.bounding_rect();
            let far = reach.min().x > bounds.max().x + self.stand_off
                || reach.max().x < bounds.min().x - self.stand_off
                || reach.min().y > bounds.max().y + self.stand_off
                || reach.max().y < bounds.min().y - self.stand_off;
            far || (!line.intersects(area) && Euclidean.distance(&line, area) >= self.stand_off)
        })
    }

    /// Nearest point outside, by looking round in ever finer rings of the exact outline.
    fn meet(&self, at: Coord) -> Coord {
        if self.off(at) >= self.stand_off {
            return at;
        }
        let r = self.stand_off + 0.006;
        let mut best = (f64::INFINITY, at);
        let mut look = |candidate: Coord| {
            let far = length(at, candidate);
            if far < best.0 && self.off(candidate) >= self.stand_off {
                best = (far, candidate);
            }
        };
        for area in &self.areas {
            for line in area.exterior().lines() {
                let way = line.end - line.start;
                let l = way.x.hypot(way.y);
                let along =
                    ((at.x - line.start.x) * way.x + (at.y - line.start.y) * way.y) / (l * l);
                if (0.0..=1.0).contains(&along) {
                    let foot = line.start + way * along;
                    for side in [1.0, -1.0] {
                        look(
                            foot + Coord {
                                x: way.y / l * r * side,
                                y: -way.x / l * r * side,
                            },
                        );
                    }
                }
                let out = at - line.start;
                let far = out.x.hypot(out.y).max(1e-9);
                look(line.start + out * (r / far));
                // Where buffers meet: dense points of arcs and sides.
                let mut turn = 0.0;
                while turn < std::f64::consts::TAU {
                    look(
                        line.start
                            + Coord {
                                x: turn.cos() * r,
                                y: turn.sin() * r,
                            },
                    );
                    turn += ARC;
                }
                let mut along = 0.0;
                while along < l {
                    for side in [1.0, -1.0] {
                        look(
                            line.start
                                + way * (along / l)
                                + Coord {
                                    x: way.y / l * r * side,
                                    y: -way.x / l * r * side,
                                },
                        );
                    }
                    along += 1.0;
                }
            }
        }
        best.1
    }

    /// Lengths from `from` to every node of the outline.
    fn lengths(&self, from: Coord) -> Vec<f64> {
        let first: Vec<f64> = self
            .outline
            .iter()
            .map(|&node| {
                if self.is_clear(from, node) {
                    length(from, node)
                } else {
                    f64::INFINITY
                }
            })
            .collect();
        (0..self.outline.len())
            .map(|j| {
                (0..first.len())
                    .map(|i| first[i] + self.between[i][j])
                    .fold(f64::INFINITY, f64::min)
            })
            .collect()
    }

    fn run(&self, from: Coord, lengths: &mut Option<Vec<f64>>, to: Coord, limit: f64) -> f64 {
        if length(from, to) > limit {
            // Longer than what could be covered: the exact figure does not matter.
            return f64::INFINITY;
        }
        if self.is_clear(from, to) {
            return length(from, to);
        }
        let lengths = lengths.get_or_insert_with(|| self.lengths(from));
        let mut nodes: Vec<usize> = (0..self.outline.len())
            .filter(|&j| lengths[j] + length(self.outline[j], to) <= limit)
            .collect();
        nodes.sort_by(|&a, &b| {
            (lengths[a] + length(self.outline[a], to))
                .total_cmp(&(lengths[b] + length(self.outline[b], to)))
        });
        nodes
            .into_iter()
            .find(|&j| self.is_clear(self.outline[j], to))
            .map_or(f64::INFINITY, |j| lengths[j] + length(self.outline[j], to))
    }
}

fn length(a: Coord, b: Coord) -> f64 {
    (a.x - b.x).hypot(a.y - b.y)
}

struct Group {
    at: Coord,
    at_s: f64,
    up_s: f64,
    people: f64,
    weight: f64,
    drift: Coord,
    drifts: bool,
    distress: bool,
    ashore_s: f64,
    /// Meeting points at each step.
    meets: Vec<Coord>,
}

impl Group {
    fn place(&self, time: f64) -> Coord {
        self.at + self.drift * (time - self.at_s).max(0.0)
    }
}

struct Problem {
    site: Site,
    groups: Vec<Group>,
    boat: Coord,
    out: Coord,
    speed: f64,
    boarding: f64,
    approach: f64,
}

/// Where the boat sets out, after how long a way out, when, and what it cost so far.
#[derive(Clone, Copy)]
struct Boat {
    from: Coord,
    lead: f64,
    time: f64,
    cost: f64,
}

const STEPS: usize = 9_000;

impl Problem {
    fn read(instance: &Value) -> Self {
        let boat_at: Position =
            serde_json::from_value(instance["boat"]["position"].clone()).unwrap();
        let plane = LocalPlane::round(boat_at);
        let coord = |value: &Value| {
            let at = plane.metres(serde_json::from_value(value.clone()).unwrap());
            Coord {
                x: at.east,
                y: at.north,
            }
        };
        let now: jiff::Timestamp = instance["now"].as_str().unwrap().parse().unwrap();
        let seconds = |value: &Value| {
            let at: jiff::Timestamp = value.as_str().unwrap().parse().unwrap();
            at.duration_since(now).as_secs_f64()
        };
        let knot = 1852.0 / 3600.0;
        let set = instance["water"]["set_deg"].as_f64().unwrap().to_radians();
        let drift = instance["water"]["drift_kn"].as_f64().unwrap() * knot;
        let areas = instance["keep_clear"]
            .as_array()
            .unwrap()
            .iter()
            .map(|area| {
                Polygon::new(
                    LineString::new(area[0].as_array().unwrap().iter().map(coord).collect()),
                    vec![],
                )
            })
            .collect();
        let site = Site::new(areas, instance["stand_off_m"].as_f64().unwrap());
        let groups = instance["groups"]
            .as_array()
            .unwrap()
            .iter()
            .map(|group| {
                let drifts = group["drifts"].as_bool().unwrap();
                let up_s = seconds(group.get("surfaced_at").unwrap_or(&group["expected_at"]));
                let urgency = group["urgency"].as_str().unwrap();
                let mut group = Group {
                    at: coord(&group["position"]),
                    at_s: seconds(&group["position_at"]),
                    up_s,
                    people: group["people"].as_f64().unwrap(),
                    weight: match urgency {
                        "routine" => 1.0,
                        "prompt" => 3.0,
                        _ => 1000.0,
                    },
                    drift: if drifts {
                        Coord {
                            x: set.sin() * drift,
                            y: set.cos() * drift,
                        }
                    } else {
                        Coord { x: 0.0, y: 0.0 }
                    },
                    drifts,
                    distress: urgency == "distress",
                    ashore_s: f64::INFINITY,
                    meets: Vec::new(),
                };
                if group.drifts {
                    let mut time = group.up_s.max(group.at_s);
                    while time < 20_000.0 {
                        if site.is_in_area(group.place(time)) {
                            group.ashore_s = time;
                            break;
                        }
                        time += 0.1;
                    }
                }
                let mut known: Option<(Coord, Coord)> = None;
                for step in 0..STEPS {
                    let there = group.place(step as f64 * STEP_S);
                    let meet = match known {
                        Some((before, meet)) if before == there => meet,
                        _ => site.meet(there),
                    };
                    known = Some((there, meet));
                    group.meets.push(meet);
                }
                group
            })
            .collect();
        let boat = coord(&instance["boat"]["position"]);
        Self {
            out: site.meet(boat),
            boat,
            speed: instance["boat"]["speed_kn"].as_f64().unwrap() * knot,
            boarding: instance["boat"]["boarding_s_per_person"].as_f64().unwrap(),
            approach: instance["boat"]["approach_s"].as_f64().unwrap(),
            site,
            groups,
        }
    }

    /// Between two steps the meeting point is taken to move evenly.
    fn meet(group: &Group, time: f64) -> Coord {
        let step = (time / STEP_S).floor();
        let (a, b) = (group.meets[step as usize], group.meets[step as usize + 1]);
        let part = time / STEP_S - step;
        // A jump from one side to the other is no way.
        if length(a, b) > 3.0 {
            if part < 0.5 { a } else { b }
        } else {
            a + (b - a) * part
        }
    }

    /// Cost so far, and the best of all that may follow.
    fn best(&self, done: &mut Vec<usize>, boat: Boat, pinned: &[usize], best: &mut f64) {
        let Boat {
            from,
            lead,
            time,
            cost,
        } = boat;
        if cost >= *best {
            return;
        }
        if done.len() == self.groups.len() {
            *best = cost;
            return;
        }
        let open: Vec<usize> = (0..self.groups.len())
            .filter(|n| !done.contains(n))
            .collect();
        let next: Vec<usize> = if let Some(&first) = pinned.get(done.len()) {
            vec![first]
        } else if open.iter().any(|&n| self.groups[n].distress) {
            open.into_iter()
                .filter(|&n| self.groups[n].distress)
                .collect()
        } else {
            open
        };
        let mut lengths = None;
        for n in next {
            let group = &self.groups[n];
            let covered = |t: f64, lengths: &mut Option<Vec<f64>>| {
                let limit = self.speed * (t - time) - lead;
                self.site
                    .run(from, lengths, Self::meet(group, t), limit + 1e-6)
                    <= limit + 1e-6
            };
            let mut arrive = time;
            while !covered(arrive, &mut lengths) {
                arrive = ((arrive / STEP_S).floor() + 1.0) * STEP_S;
                if arrive >= (STEPS - 2) as f64 * STEP_S {
                    arrive = f64::INFINITY;
                    break;
                }
            }
            if arrive.is_infinite() {
                continue;
            }
            let mut low = (arrive - STEP_S).max(time);
            for _ in 0..20 {
                let middle = f64::midpoint(low, arrive);
                if covered(middle, &mut lengths) {
                    arrive = middle;
                } else {
                    low = middle;
                }
            }
            let seen = arrive.max(group.up_s);
            let place = group.place(seen);
            let swim = if self.site.off(place) >= self.site.stand_off {
                0.0
            } else {
                length(place, Self::meet(group, seen))
            };
            let begin = arrive.max(group.up_s + swim / 0.3);
            let own = group.people
                * group.weight
                * ((begin - group.up_s) + 4.0 * (begin - group.ashore_s).max(0.0))
                / 60.0;
            let end = begin + self.approach + self.boarding * group.people;
            if end >= (STEPS - 2) as f64 * STEP_S {
                continue;
            }
            done.push(n);
            let boat = Boat {
                from: Self::meet(group, end),
                lead: 0.0,
                time: end,
                cost: cost + own,
            };
            self.best(done, boat, pinned, best);
            done.pop();
        }
    }
}

fn by_hand(instance: &Value) -> f64 {
    let problem = Problem::read(instance);
    let number = |id: &Value| {
        let groups = instance["groups"].as_array().unwrap();
        groups.iter().position(|group| group["id"] == *id).unwrap()
    };
    let mut pinned = Vec::new();
    pinned.extend(instance.get("under_way").map(number));
    for id in instance
        .get("fixed")
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
    {
        if !pinned.contains(&number(id)) {
            pinned.push(number(id));
        }
    }
    let mut best = f64::INFINITY;
    let lead = length(problem.boat, problem.out);
    let boat = Boat {
        from: problem.out,
        lead,
        time: 0.0,
        cost: 0.0,
    };
    problem.best(&mut Vec::new(), boat, &pinned, &mut best);
    best
}

const DEGREE: f64 = 1.0 / 111_000.0;

fn time(seconds: i32) -> String {
    let from = 10 * 3600 + seconds;
    format!(
        "2026-06-01T{:02}:{:02}:{:02}Z",
        from / 3600,
        from / 60 % 60,
        from % 60
    )
}

/// Groups on purpose near and in the areas, boats slow and in buffers, concave reefs.
fn instance(seed: u64) -> Value {
    let mut random = StdRng::seed_from_u64(seed);
    let at = |east: f64, north: f64| json!([57.0 + east * DEGREE, -8.0 + north * DEGREE]);
    let many = random.random_range(0..=2);
    let areas: Vec<Value> = (0..many)
        .map(|nth| {
            let (east, north) = (
                f64::from(nth) * 520.0 - 250.0,
                random.random_range(-100.0..100.0),
            );
            let corners = random.random_range(5..=9);
            let mut ring: Vec<Value> = (0..corners)
                .map(|nth| {
                    let turn = std::f64::consts::TAU * f64::from(nth) / f64::from(corners);
                    let radius = random.random_range(50.0..170.0);
                    at(east + radius * turn.cos(), north + radius * turn.sin())
                })
                .collect();
            ring.push(ring[0].clone());
            json!([ring])
        })
        .collect();
    let count = random.random_range(2..=7);
    let groups: Vec<Value> = (0..count)
        .map(|nth| {
            let up: i32 = random.random_range(-300..900);
            let mut group = json!({
                "id": format!("G{nth}"),
                "people": random.random_range(1..=6),
                "position": at(random.random_range(-450.0..450.0), random.random_range(-300.0..300.0)),
                "position_at": time(if random.random_bool(0.3) { 0 } else { up.max(0) }),
                "expected_at": time(up),
                "drifts": random.random_bool(0.7),
                "urgency": if random.random_bool(0.1) { "distress" } else if random.random_bool(0.3) { "prompt" } else { "routine" },
            });
            if up < 0 {
                group["surfaced_at"] = json!(time(up));
            }
            group
        })
        .collect();
    let mut instance = json!({
        "now": time(0),
        "boat": {
            "position": at(random.random_range(-450.0..450.0), random.random_range(-350.0..350.0)),
            "speed_kn": random.random_range(3.0..9.0),
            "boarding_s_per_person": random.random_range(40..=90),
            "approach_s": random.random_range(30..=120),
        },
        "water": {"set_deg": random.random_range(0.0..360.0), "drift_kn": random.random_range(0.0..1.2)},
        "keep_clear": areas,
        "stand_off_m": random.random_range(20..=50),
        "groups": groups,
    });
    if seed % 5 == 1 {
        instance["under_way"] = json!("G1");
    }
    if seed % 5 >= 3 {
        instance["fixed"] = json!(["G1", "G0"]);
    }
    instance
}

fn compare(seeds: std::ops::Range<u64>) {
    let mut compared = 0;
    let mut off: Vec<(f64, u64)> = Vec::new();
    for seed in seeds {
        let instance = instance(seed);
        let answer = pickup::answer(instance.to_string().as_bytes()).unwrap();
        assert_eq!(answer["proven"], true, "seed {seed}");
        if answer["unreachable"]
            .as_array()
            .is_some_and(|list| !list.is_empty())
        {
            continue;
        }
        let (ours, theirs) = (answer["cost"].as_f64().unwrap(), by_hand(&instance));
        let slack = 0.004 * theirs + 1.0;
        println!("seed {seed}: {ours:.3} {theirs:.3}");
        if (ours - theirs).abs() > slack {
            off.push(((ours - theirs) / theirs, seed));
        }
        compared += 1;
    }
    assert!(off.is_empty(), "off: {off:?}");
    assert!(compared > 5, "{compared} compared");
}

#[test]
fn all_orders_tried_by_hand_agree_1() {
    compare(0..10);
}

#[test]
fn all_orders_tried_by_hand_agree_2() {
    compare(10..20);
}

#[test]
#[ignore = "takes minutes: for a longer look"]
fn all_orders_tried_by_hand_agree_over_more() {
    compare(20..90);
}
