// What a device shows that has not delivered everything: the last picture of the box, with the
// device's own events of since then on top, at an instant. Pure: no clock, no page, no storage.
//
// The own events were made in the knowledge of the picture, so each replaces what the picture
// says of its people, as far as its kind can. Rust folds the same from the log; shared vectors
// (tests/vectors/overlay.json) hold the two together. Nothing else is computed twice.

/**
 * @typedef {Record<string, any>} Json
 * @typedef {{ id: string, kind: string, about: { persons?: string[], group?: string, dive?: number }, at: string, payload: Json, by: { name: string } }} Said
 * @typedef {{ place: string, signal: string | null, at: number, dive: number | null, group: string | null, nth: number }} Stand
 * @typedef {{ plight: string, person: string, group: string | null, since: number, nth: number }} Past a plight that is over; nth: its event, -1 if the picture told it
 */

/** The partner's clock: common practice, no source; DESIGN of the windows. */
const PARTNER_MS = 5 * 60_000;
const QUIET_MS = 30_000;
const SLACK_KN = 0.05;
const ACCOUNTED = new Set(['ashore', 'aboard', 'other-vessel', 'landed']);
const UP = new Set(['aboard', 'other-vessel', 'landed', 'at-surface']);

/** Worst first, as the watch list is ordered. */
export const STANDINGS = [
  'distress', 'missing', 'lost-contact', 'out-of-gas', 'overdue', 'partner-overdue', 'unresolved', 'late',
  'partner-clock', 'at-surface', 'buoy-up', 'due', 'in-window', 'in-water', 'ready', 'planned', 'back',
];
const PRIORITIES = ['emergency', 'alarm', 'warning', 'caution'];
/** @type {Record<string, string>} */
const PRIORITY_OF = {
  distress: 'emergency', missing: 'emergency', emergency: 'emergency',
  overdue: 'alarm', 'partner-overdue': 'alarm', 'lost-contact': 'alarm', 'yellow-buoy': 'alarm', 'out-of-gas': 'alarm',
  late: 'warning', unresolved: 'warning',
};

/** @param {any} text @returns {number} ms; NaN where nothing is said */
const ms = (text) => (text === null || text === undefined ? NaN : Date.parse(text));
/** An instant as the box writes it: to the second where it is whole. @param {number} at */
export const instant = (at) => new Date(at).toISOString().replace('.000Z', 'Z');

/**
 * The picture as this device sees it at `now`.
 * @param {Json} picture the last picture
 * @param {Said[]} pending own events not in it, in order
 * @param {number} now ms
 * @returns {Json} a new picture
 */
export function overlay(picture, pending, now) {
  const p = structuredClone(picture);
  p.people ??= {};
  p.groups ??= {};
  p.alerts ??= {};
  const taken = new Set(pending.filter((e) => e.kind === 'voided').map((e) => e.payload.of));
  const events = pending.filter((e) => !taken.has(e.id) && e.kind !== 'voided');
  /** @type {Map<string, Stand[]>} */
  const stands = new Map(Object.entries(p.people).map(([id, person]) => [id, standing(person)]));
  /** @type {Past[]} */
  const past = [];
  events.forEach((event, nth) => apply(p, stands, past, event, nth));
  for (const [id, person] of Object.entries(p.people)) resolve(p, id, person, stands.get(id) ?? []);
  for (const [id, group] of Object.entries(p.groups)) settle(p, id, group, stands, events, now);
  ofPeople(p, picture, stands, past, events, now);
  rank(p);
  count(p, stands);
  return p;
}

/** What stands of a person in a picture. @param {Json} person @returns {Stand[]} */
function standing(person) {
  const said = person.statements ?? [
    { place: person.place, signal: person.distress ? 'help' : null, at: person.since, dive: person.dive, group: person.group },
  ];
  return said.map((/** @type {Json} */ s) => ({
    place: s.place, signal: s.signal ?? null, at: ms(s.at), dive: s.dive ?? null, group: s.group ?? null, nth: -1,
  }));
}

/** What an event says of where one person is; none if nothing. @param {Said} event @param {string} id */
function placed(event, id) {
  const payload = event.payload;
  if (event.kind === 'roll-called' && payload.not_seen?.includes(id)) {
    return { place: payload.point === 'departure' ? 'ashore' : 'unresolved' };
  }
  if (!event.about.persons?.includes(id)) return null;
  /** @param {Json} vessel */
  const vessel = (vessel) => ({ place: vessel.kind === 'other' ? 'other-vessel' : vessel.kind === 'shore' ? 'landed' : 'aboard' });
  switch (event.kind) {
    case 'roll-called': return { place: 'aboard' };
    case 'left-surface': return { place: 'in-water' };
    case 'at-surface': return { place: 'at-surface', signal: payload.signal };
    case 'aboard': return vessel(payload.vessel);
    case 'person-missing': return { place: 'missing' };
    case 'person-found': return payload.vessel ? vessel(payload.vessel) : { place: 'at-surface' };
    default: return null;
  }
}

/** Whether a later word can take the place of an earlier one that its author knew.
 * @param {Said} event @param {string} place @param {Stand} earlier */
function replaces(event, place, earlier) {
  const dive = event.about.dive ?? null;
  if (dive !== null && earlier.dive !== null && dive < earlier.dive) return false;
  const helped = earlier.signal === 'help';
  switch (event.kind) {
    case 'roll-called': return place === 'aboard' || (place === 'ashore' && ACCOUNTED.has(earlier.place));
    case 'left-surface': return earlier.place !== 'missing' && !helped;
    case 'at-surface': return !helped || event.payload.signal !== 'no-signal';
    case 'person-found': return !helped || Boolean(event.payload.vessel);
    default: return true;
  }
}

/** The plights that words about one person add up to. @param {Stand[]} held */
function plights(held) {
  /** @param {string} plight @param {Stand[]} of */
  const one = (plight, of) => (of.length ? [{ plight, since: Math.max(...of.map((s) => s.at)), nth: Math.max(...of.map((s) => s.nth)), group: of.at(-1)?.group ?? null }] : []);
  const missing = held.filter((s) => s.place === 'missing');
  const distress = held.filter((s) => s.signal === 'help');
  const differ = !distress.length && (new Set(held.map((s) => s.place)).size > 1 || held.some((s) => s.place === 'unresolved'));
  return [...one('distress', distress), ...one('missing', missing), ...one('unresolved', differ ? held : [])];
}

/** @param {Json} p @param {Map<string, Stand[]>} stands @param {Past[]} past @param {Said} event @param {number} nth */
function apply(p, stands, past, event, nth) {
  const at = ms(event.at);
  const named = new Set([...(event.about.persons ?? []), ...(event.kind === 'roll-called' ? (event.payload.not_seen ?? []) : [])]);
  for (const id of named) {
    const said = placed(event, id);
    if (!said || !p.people[id]) continue;
    const before = stands.get(id) ?? [];
    const held = before.filter((earlier) => !replaces(event, said.place, earlier));
    held.push({ place: said.place, signal: said.signal ?? null, at, dive: event.about.dive ?? null, group: event.about.group ?? null, nth });
    const now = plights(held).map((one) => one.plight);
    for (const was of plights(before)) if (!now.includes(was.plight)) past.push({ ...was, person: id });
    held.sort((a, b) => a.at - b.at);
    stands.set(id, held);
  }
  const group = event.about.group ? p.groups[event.about.group] : undefined;
  const alone = group?.alone;
  switch (event.kind) {
    case 'drop-checked':
      if (alone && !group.entered_at) alone.checked = event.payload.engine_neutral && event.payload.flag_shown;
      break;
    case 'left-surface':
      if (group) drop(p, group, event);
      break;
    case 'buoy-seen':
      if (alone) {
        if (event.payload.colour === 'yellow') Object.assign(alone, { yellow: latest(alone.yellow, event.at), yellow_nth: nth });
        alone.buoy_last = true;
      }
      break;
    case 'at-surface':
      if (alone) alone.buoy_last = false;
      for (const id of named) surfaced(alone, id, event.at);
      break;
    case 'aboard':
      for (const id of named) surfaced(alone, id, event.payload.detail?.surfaced_at ?? event.at);
      break;
    case 'others-well':
    case 'lost-contact':
      if (alone) {
        const spoken = event.payload.said_by;
        const rest = (event.about.persons ?? []).filter((id) => id !== spoken);
        const about = rest.length ? rest : (group.members ?? []).filter((/** @type {string} */ id) => id !== spoken);
        (event.kind === 'others-well' ? (alone.well ??= []) : (alone.lost ??= [])).push({ at: event.at, said_by: spoken, about, nth });
      }
      break;
    case 'conditions-observed':
      current(p, event);
      break;
    case 'lookout-posted':
      p.lookout = { name: event.payload.name, since: event.at };
      delete p.alerts.lookout;
      break;
    case 'lookout-relieved':
      p.lookout = null;
      break;
    case 'emergency-declared':
      p.emergency ??= { reason: event.payload.reason, by: event.by.name, at: event.at, datum: event.payload.datum ?? null, steps: [] };
      break;
    case 'emergency-step':
      p.emergency?.steps.push(event.payload.step);
      break;
    default:
  }
}

/** @param {string | null | undefined} a @param {string} b */
const latest = (a, b) => (a && ms(a) > ms(b) ? a : b);

/** @param {Json | undefined} alone @param {string} id @param {string} at */
function surfaced(alone, id, at) {
  if (!alone) return;
  const known = (alone.surfaced ??= {})[id];
  if (!known || ms(at) < ms(known)) alone.surfaced[id] = at;
}

/** A group leaves the surface: of several words the earliest of each counts, and all their people.
 * @param {Json} p @param {Json} group @param {Said} event */
function drop(p, group, event) {
  const before = group.entered_at ? ms(group.entered_at) : NaN;
  const at = ms(event.at);
  const entered = Number.isNaN(before) ? at : Math.min(before, at);
  const alone = (group.alone ??= {});
  /** @type {Json} */
  const window = {};
  for (const key of ['earliest_s', 'expected_s', 'latest_s', 'overdue_s', 'endurance_s']) {
    const stated = at + event.payload.window[key] * 1000;
    const known = Number.isNaN(before) ? stated : before + alone.window[key] * 1000;
    window[key] = Math.trunc((Math.min(stated, known) - entered) / 1000);
  }
  const was = group.entered_at ? group.members : [];
  group.members = [...new Set([...was, ...(event.about.persons ?? [])])].sort();
  group.entered_at = instant(entered);
  group.offsets = window;
  group.granted_min ??= 0;
  if (Number.isNaN(before)) {
    const members = new Set(group.members);
    const units = (alone.units ?? []).map((/** @type {string[]} */ unit) => unit.filter((id) => members.has(id))).filter((/** @type {string[]} */ unit) => unit.length);
    const paired = new Set(units.flat());
    for (const id of group.members) if (!paired.has(id)) units.push([id]);
    Object.assign(alone, { units, surfaced: {}, well: [], lost: [], causes: [], yellow: null, buoy_last: false, strongest_kn: null });
    const c = p.conditions ?? {};
    if (typeof c.drift_kn === 'number' && ms(c.current_at) >= entered - 3_600_000) alone.strongest_kn = c.drift_kn;
  }
  alone.window = window;
}

/** A current seen: it can only bring deadlines forward. @param {Json} p @param {Said} event */
function current(p, event) {
  const { set_deg: set, drift_kn: drift } = event.payload;
  const c = (p.conditions ??= {});
  if (typeof set === 'number' && typeof drift === 'number') {
    Object.assign(c, { set_deg: set, drift_kn: drift, current_at: event.at });
    for (const group of Object.values(p.groups)) {
      if (!group.entered_at || !group.alone?.window) continue;
      if (ms(event.at) >= ms(group.entered_at) - 3_600_000) group.alone.strongest_kn = Math.max(group.alone.strongest_kn ?? 0, drift);
    }
    delete p.alerts.current;
  }
  if (typeof event.payload.wind_from_deg === 'number' && typeof event.payload.wind_kn === 'number') {
    Object.assign(c, { wind_from_deg: event.payload.wind_from_deg, wind_kn: event.payload.wind_kn, wind_at: event.at });
  }
  for (const key of ['visibility_m', 'sea', 'water_c']) if (event.payload[key] !== null && event.payload[key] !== undefined) c[key] = event.payload[key];
}

/** @param {Json} p @param {string} id @param {Json} person @param {Stand[]} held */
function resolve(p, id, person, held) {
  const distress = held.some((s) => s.signal === 'help');
  const places = new Set(held.map((s) => s.place));
  const last = held.at(-1);
  person.place = distress ? 'at-surface' : places.size === 1 && last ? last.place : 'unresolved';
  if (last) person.since = Number.isNaN(last.at) ? person.since : instant(last.at);
  if (distress) person.distress = true;
  else delete person.distress;
  const dives = held.map((s) => s.dive).filter((dive) => dive !== null);
  if (dives.length) person.dive = Math.max(.../** @type {number[]} */ (dives));
  const group = held.findLast((s) => s.group)?.group;
  if (group) person.group = group;
}

/** @param {Json} p @param {Map<string, Stand[]>} stands @param {string} id */
function isUp(p, stands, id) {
  const person = p.people[id];
  if (person?.place !== 'unresolved') return UP.has(person?.place);
  const held = stands.get(id) ?? [];
  return held.length > 0 && held.every((s) => UP.has(s.place));
}

/** Everything of a group that follows from its people and the time.
 * @param {Json} p @param {string} id @param {Json} group @param {Map<string, Stand[]>} stands @param {Said[]} events @param {number} now */
function settle(p, id, group, stands, events, now) {
  const alone = group.alone;
  if (!group.entered_at) {
    if (alone) group.standing = alone.checked ? 'ready' : 'planned';
    return;
  }
  const members = (group.members ?? []).filter((/** @type {string} */ m) => p.people[m]);
  const of = (/** @type {string} */ m) => p.people[m];
  const out = members.filter((/** @type {string} */ m) => !ACCOUNTED.has(of(m).place) && (of(m).dive ?? 0) <= group.dive);
  const down = out.filter((/** @type {string} */ m) => !isUp(p, stands, m));
  group.up = members.filter((/** @type {string} */ m) => isUp(p, stands, m)).length;
  group.at_surface = members.filter((/** @type {string} */ m) => of(m).place === 'at-surface').length;
  group.accounted = members.filter((/** @type {string} */ m) => ACCOUNTED.has(of(m).place)).length;
  if (!alone?.window) return;
  const d = deadlines(p, group);
  group.deadlines = Object.fromEntries(Object.entries(d).map(([key, at]) => [key, instant(at)]));
  const clocks = partnerClocks(alone, down);
  group.partner_until = clocks.length ? instant(Math.min(...clocks.map((/** @type {Json} */ c) => c.until))) : null;
  const key = `group:${id}`;
  const names = (/** @type {string[]} */ ids) => [...ids].sort().map((m) => of(m).name);
  const lost = (alone.lost ?? []).map((/** @type {Json} */ word) => ({ ...word, down: word.about.filter((/** @type {string} */ m) => down.includes(m)) }));

  const worst = [];
  if (out.some((/** @type {string} */ m) => of(m).distress)) worst.push('distress');
  if (out.some((/** @type {string} */ m) => (stands.get(m) ?? []).some((s) => s.place === 'missing'))) worst.push('missing');
  if (lost.some((/** @type {Json} */ word) => word.down.length) || (alone.yellow && down.length)) worst.push('lost-contact');
  if (out.some((/** @type {string} */ m) => of(m).place === 'unresolved')) worst.push('unresolved');
  for (const clock of clocks) worst.push(now >= clock.until ? 'partner-overdue' : 'partner-clock');
  if (down.length) {
    if (now >= d.endurance) worst.push('out-of-gas');
    if (now >= d.overdue) worst.push('overdue');
    else if (now >= d.latest) worst.push('late');
    else if (now >= d.expected) worst.push('due');
    else if (now >= d.earliest) worst.push('in-window');
  }
  const atSurface = out.filter((/** @type {string} */ m) => of(m).place === 'at-surface');
  if (atSurface.length) worst.push('at-surface');
  else if (alone.buoy_last && out.length) worst.push('buoy-up');
  worst.push(now >= d.earliest ? 'in-window' : 'in-water');
  group.standing = out.length ? worst.reduce((a, b) => (STANDINGS.indexOf(b) < STANDINGS.indexOf(a) ? b : a)) : 'back';

  /** @type {Json[]} */
  const raised = [];
  const lastUp = down.length ? NaN : Math.max(...members.map((/** @type {string} */ m) => ms(alone.surfaced?.[m] ?? of(m).since)));
  for (const [word, at] of /** @type {[string, number][]} */ ([['out-of-gas', d.endurance], ['overdue', d.overdue], ['late', d.latest]])) {
    if (at > now || (!Number.isNaN(lastUp) && at >= lastUp)) continue;
    raised.push({ word, since: at, until: Number.isNaN(lastUp) ? null : lastUp, cause: { cause: word } });
    break;
  }
  for (const clock of clocks) {
    if (clock.until > now) continue;
    raised.push({ word: `partner-overdue ${names(clock.down).join('+')}`, since: clock.until, until: null, cause: { cause: 'partner-overdue', down: names(clock.down) } });
  }
  for (const clock of pastClocks(alone, members, down)) {
    raised.push({ word: `partner-overdue ${names(clock.down).join('+')}`, since: clock.until, until: clock.ended, cause: { cause: 'partner-overdue', down: names(clock.down) } });
  }
  for (const word of lost) {
    const at = ms(word.at);
    const who = word.down.length ? word.down : word.about.filter((/** @type {string} */ m) => p.people[m]);
    const up = word.about.map((/** @type {string} */ m) => ms(alone.surfaced?.[m] ?? of(m)?.since)).filter((/** @type {number} */ t) => !Number.isNaN(t));
    const until = word.down.length ? null : Math.max(at, ...up);
    raised.push({ word: `lost-contact ${names(who).join('+')}`, since: at, until, nth: word.nth ?? -1, cause: { cause: 'lost-contact', with: names(who) } });
  }
  if (alone.yellow) {
    const since = ms(alone.yellow);
    raised.push({ word: 'yellow-buoy', since, until: Number.isNaN(lastUp) ? null : Math.max(lastUp, since), nth: alone.yellow_nth ?? -1, cause: { cause: 'yellow-buoy' } });
  }
  const known = alone.causes ?? (p.alerts[key] ? [p.alerts[key]] : []);
  delete p.alerts[key];
  const lives = raised.flatMap((r) => alive(r, key, known, events, now) ?? []);
  lives.sort((a, b) =>
    Number(a.until !== null) - Number(b.until !== null) ||
    PRIORITIES.indexOf(a.priority) - PRIORITIES.indexOf(b.priority) ||
    Number(a.acknowledged !== null) - Number(b.acknowledged !== null) ||
    b.at - a.at);
  const [first] = lives;
  if (first) p.alerts[key] = shown(first, { group: id });
}

/** @param {Json} p @param {Json} group */
function deadlines(p, group) {
  const at = ms(group.entered_at);
  const w = group.alone.window;
  const granted = Math.round((group.granted_min ?? 0) * 60) * 1000;
  const after = (/** @type {number} */ s) => at + s * 1000;
  const endurance = after(w.endurance_s);
  const later = (/** @type {number} */ s) => Math.max(Math.min(after(s) + granted, endurance), Math.min(after(s), endurance));
  const d = { earliest: after(w.earliest_s), expected: later(w.expected_s), latest: later(w.latest_s), overdue: later(w.overdue_s), endurance };
  const kn = group.alone.strongest_kn;
  if (typeof kn === 'number' && kn >= SLACK_KN) {
    const sight = Math.trunc(((p.alone?.sight_nm ?? 0.2) / kn) * 3600) * 1000;
    d.overdue = Math.min(d.overdue, Math.max(d.latest, d.expected + sight));
  }
  return d;
}

/** Of whom it was said, from an instant on, that they are well. @param {Json} alone @param {number} from */
const wellSince = (alone, from) =>
  new Set((alone.well ?? []).filter((/** @type {Json} */ word) => ms(word.at) >= from).flatMap((/** @type {Json} */ word) => word.about));

/** Pairs and threes of which part is up. @param {Json} alone @param {string[]} down */
function partnerClocks(alone, down) {
  return (alone.units ?? []).flatMap((/** @type {string[]} */ unit) => {
    const up = unit.filter((id) => !down.includes(id));
    const times = up.map((id) => ms(alone.surfaced?.[id])).filter((at) => !Number.isNaN(at));
    if (!times.length) return [];
    const from = Math.min(...times);
    const well = wellSince(alone, from);
    const still = unit.filter((id) => down.includes(id) && !well.has(id));
    return still.length ? [{ up, down: still, from, until: from + PARTNER_MS }] : [];
  });
}

/** Clocks that ran out before the partner came up. @param {Json} alone @param {string[]} members @param {string[]} down */
function pastClocks(alone, members, down) {
  return (alone.units ?? []).flatMap((/** @type {string[]} */ unit) => {
    if (unit.some((id) => down.includes(id))) return [];
    const came = unit.map((id) => ({ id, at: ms(alone.surfaced?.[id]) }));
    if (came.some((one) => Number.isNaN(one.at))) return [];
    const from = Math.min(...came.map((one) => one.at));
    const ended = Math.max(...came.map((one) => one.at));
    const until = from + PARTNER_MS;
    const well = wellSince(alone, from);
    const late = came.filter((one) => !well.has(one.id) && one.at > until).map((one) => one.id);
    return late.length ? [{ down: late, until, ended }] : [];
  });
}

/** The kind of a cause, without its names. @param {string} word */
const kind = (word) => word.split(' ')[0];

/** What became of a situation: whether somebody has heard of it.
 * @param {Json} raised @param {string} key @param {Json[]} known causes in the picture @param {Said[]} events @param {number} now @returns {Json | null} */
function alive(raised, key, known, events, now) {
  // A word is known or not, whatever the clocks say; an instant was reached or not.
  const marked = raised.nth !== undefined;
  const loosely = raised.until !== null || marked;
  const same = (/** @type {string} */ word) => word === raised.word || (loosely && kind(word) === kind(raised.word));
  const was = marked && raised.nth >= 0 ? undefined : known.find((/** @type {Json} */ cause) => same(cause.word) && ms(cause.since) === raised.since);
  return life(raised, was, (e, nth) => e.payload.alert === key && same(e.payload.cause) && (marked ? nth > raised.nth : ms(e.at) >= raised.since), events, now);
}

/** @param {Json} raised @param {Json | undefined} was in the picture @param {(e: Said, nth: number) => boolean} hears @param {Said[]} events @param {number} now @returns {Json | null} */
function life(raised, was, hears, events, now) {
  const heard = events.filter(hears);
  const seen = heard.find((e) => e.kind === 'alert-acknowledged');
  const acknowledged = was?.acknowledged ?? (seen ? { by: seen.by.name, at: seen.at } : null);
  const quiets = heard.filter((e) => e.kind === 'alert-silenced').map((e) => ms(e.at) + QUIET_MS);
  if (was?.quiet_until) quiets.push(ms(was.quiet_until));
  const quiet = Math.max(...quiets.filter((until) => until > now), -Infinity);
  if (raised.until !== null && acknowledged) return null;
  const state = raised.until !== null ? 'resolved-unacknowledged' : acknowledged ? 'acknowledged' : quiet > now ? 'silenced' : 'active';
  return {
    ...raised, state, acknowledged, at: raised.since,
    quiet_until: quiet > now ? instant(quiet) : null,
    priority: PRIORITY_OF[kind(raised.word)] ?? 'caution',
  };
}

/** As a picture tells an alert. @param {Json} life @param {Json} of */
function shown(life, of) {
  return {
    cause: life.cause, word: life.word, priority: life.priority, state: life.state,
    since: instant(life.at), until: life.until === null ? null : instant(life.until),
    deck_from: instant(life.at + 30_000), desk_from: instant(life.at + 120_000),
    quiet_until: life.quiet_until, acknowledged: life.acknowledged, group: of.group ?? null, person: of.person ?? null,
  };
}

/** Distress, missing and doubt, person by person, and the emergency.
 * @param {Json} p @param {Json} before @param {Map<string, Stand[]>} stands @param {Past[]} past @param {Said[]} events @param {number} now */
function ofPeople(p, before, stands, past, events, now) {
  /** Situations by key, those that hold apart from those that are over. @type {Map<string, Json>[]} */
  const [holds, over] = [new Map(), new Map()];
  /** @param {Map<string, Json>} into @param {string} key @param {Json} one */
  const raise = (into, key, one) => {
    const held = into.get(key);
    if (!held) return void into.set(key, one);
    held.names.push(...one.names);
    held.since = Math.min(held.since, one.since);
    held.nth = Math.max(held.nth, one.nth);
    held.person = null;
  };
  for (const [id, person] of Object.entries(p.people)) {
    const group = person.group ?? null;
    const key = (/** @type {string} */ plight) => `${plight}:${plight === 'unresolved' ? id : (group ?? id)}`;
    const now = plights(stands.get(id) ?? []);
    // Who is missed is not told as a doubt too.
    const told = now.some((one) => one.plight === 'missing') ? now.filter((one) => one.plight !== 'unresolved') : now;
    for (const one of told) raise(holds, key(one.plight), { ...one, names: [person.name], group, person: id });
    /** @type {Map<string, Past>} */
    const last = new Map();
    for (const one of past) if (one.person === id && one.since >= (last.get(one.plight)?.since ?? -Infinity)) last.set(one.plight, one);
    for (const one of last.values()) {
      if (!now.some((held) => held.plight === one.plight)) raise(over, key(one.plight), { ...one, names: [person.name], group, person: id });
    }
  }
  if (p.emergency) {
    // Declared once more, it is to be heard once more.
    const nth = events.findLastIndex((e) => e.kind === 'emergency-declared');
    holds.set('emergency', { plight: 'emergency', names: [], since: ms(p.emergency.at), nth, group: null, person: null, reason: p.emergency.reason });
  }
  const keys = new Set([...holds.keys(), ...over.keys()]);
  for (const key of keys) {
    const held = holds.get(key);
    const one = held ?? /** @type {Json} */ (over.get(key));
    const { plight, names } = one;
    const cause = plight === 'emergency' ? { cause: plight, reason: one.reason } : plight === 'unresolved' ? { cause: plight, name: names[0] } : { cause: plight, names };
    const raised = { word: plight, cause, since: one.since, until: held ? null : now, nth: one.nth };
    const was = before.alerts?.[key];
    const known = was && one.nth < 0 && kind(was.word) === plight ? was : undefined;
    const alert = life(raised, known, (e, nth) => e.payload.alert === key && kind(e.payload.cause) === plight && nth > one.nth, events, now);
    if (alert) p.alerts[key] = shown(alert, one);
    else delete p.alerts[key];
  }
}

/** The order of the watch list. @param {Json} p */
function rank(p) {
  const next = (/** @type {Json} */ g) => ms(g.deadlines?.expected ?? g.entered_at) || Infinity;
  const order = Object.values(p.groups).sort((a, b) =>
    STANDINGS.indexOf(a.standing) - STANDINGS.indexOf(b.standing) || next(a) - next(b) || String(a.letter).localeCompare(b.letter));
  order.forEach((group, nth) => { group.rank = nth + 1; });
}

/** @param {Json} p @param {Map<string, Stand[]>} stands */
function count(p, stands) {
  const ids = Object.keys(p.people);
  const out = ids.filter((id) => !ACCOUNTED.has(p.people[id].place));
  p.out = out.length;
  p.under = out.filter((id) => !isUp(p, stands, id)).length;
  p.aboard = ids.filter((id) => p.people[id].place === 'aboard').length;
}
