// Turns a form of the helm or the deck into the events it says, so that the act can be kept on the
// device before anything is sent. Pure: the same fields, picture and instant give the same events.
//
// It refuses only what the append door would refuse; what makes no sense now is the box's to say,
// or a person's to settle.

import { quantity } from './typed.js';

/**
 * @typedef {Record<string, any>} Json
 * @typedef {{ kind: string, payload: Json, about: Json, at?: number }} Draft
 * @typedef {{ trip: string, place: string, rest: string }} Where
 */

const SIGNALS = new Map([['well', 'well'], ['none', 'no-signal'], ['help', 'help']]);
const COLOURS = ['orange', 'yellow', 'other'];
const POINTS = ['departure', 'leaving', 'return'];
const SEAS = ['calm', 'slight', 'moderate', 'rough'];

/** Where a page of a trip is: `/deck/{trip}/group/{group}`. @param {string} path @returns {Where | null} */
export function whereIs(path) {
  const found = /^\/(helm|deck)\/([0-9a-f-]{36})(?:\/(.*))?$/.exec(path);
  return found ? { place: found[1] ?? '', trip: found[2] ?? '', rest: found[3] ?? '' } : null;
}

/**
 * The events that a form says; null for a form that only the box can take.
 * @param {string} rest path behind the trip
 * @param {URLSearchParams} fields
 * @param {Json} p the picture as this device sees it
 * @param {{ name: string }} who
 * @param {number} now ms, the box's clock
 * @param {number} offset minutes of the boat's local time
 * @param {(key: string, args?: Record<string, string>) => string} say
 * @returns {Draft[] | null}
 */
export function said(rest, fields, p, who, now, offset, say) {
  const typed = (/** @type {string} */ name) => (fields.get(name) ?? '').trim();
  const all = (/** @type {string} */ name) => fields.getAll(name).filter((id) => p.people[id] !== undefined);
  const at = happened(typed('at'), now, offset);
  if (at === null) return null;
  const of = /^group\/([0-9a-f-]{36})\/(\w+)$/.exec(rest);
  if (of) return ofGroup(of[1] ?? '', of[2] ?? '', fields, p, now, at);
  const back = /^return\/([0-9a-f-]{36})$/.exec(rest);
  switch (back ? 'return' : rest) {
    case 'aboard':
    case 'pickup/aboard':
      return p.people[typed('person')] ? [aboard(p, typed('person'), { kind: 'own' }, who.name, {}, at)] : null;
    case 'return':
      return p.people[back?.[1] ?? ''] ? homecoming(p, back?.[1] ?? '', fields, who, now, offset, at) : null;
    case 'acknowledge':
    case 'quiet': {
      const payload = { alert: typed('alert'), cause: typed('cause') };
      if (!payload.alert || !payload.cause) return null;
      return [{ kind: rest === 'quiet' ? 'alert-silenced' : 'alert-acknowledged', payload, about: {} }];
    }
    case 'count':
    case 'count/names':
      return counted(rest === 'count/names', fields, p);
    case 'roll': {
      if (!POINTS.includes(typed('point'))) return null;
      const marks = [...fields].filter(([name]) => name.startsWith('p-')).map(([name, value]) => [name.slice(2), value]);
      const seen = marks.filter(([id, value]) => value === 'seen' && p.people[id ?? '']).map(([id]) => id);
      const not = marks.filter(([id, value]) => value === 'not-seen' && p.people[id ?? '']).map(([id]) => id);
      if (!seen.length && !not.length) return null;
      return [{ kind: 'roll-called', payload: { point: typed('point'), not_seen: not }, about: { persons: seen, ...onDive(p, typed('point')) } }];
    }
    case 'conditions':
      return typed('do') === 'check' ? null : conditions(fields);
    case 'incident':
      return typed('text') ? [{ kind: 'incident-noted', payload: { text: typed('text') }, about: { persons: all('persons') } }] : null;
    case 'recall': {
      const signal = typed('signal') === 'other' ? typed('other') : say(`helm-recall-${typed('signal')}`);
      return typed('signal') && signal ? [{ kind: 'recall-sounded', payload: { signal }, about: p.dive ? { dive: p.dive } : {} }] : null;
    }
    case 'emergency':
      return typed('what') ? [{ kind: 'emergency-declared', payload: { reason: say(`helm-reason-${typed('what')}`), datum: datum(p) }, about: { persons: inTrouble(p) } }] : null;
    case 'emergency/missing':
      return all('persons').length ? all('persons').map((id) => ({ kind: 'person-missing', payload: { note: '' }, about: out(p, [id]) })) : null;
    case 'emergency/step': {
      const text = p.alone?.emergency_plan?.[Number(typed('step'))];
      return text ? [{ kind: 'emergency-step', payload: { step: Number(typed('step')), text, note: null }, about: {} }] : null;
    }
    case 'lookout': {
      const name = typed('lookout') || typed('who');
      return name ? [{ kind: 'lookout-posted', payload: { name }, about: {} }] : null;
    }
    case 'lookout/relieve':
      return p.lookout ? [{ kind: 'lookout-relieved', payload: { name: p.lookout.name }, about: {} }] : null;
    default:
      return null;
  }
}

/** @param {string} id @param {string} act @param {URLSearchParams} fields @param {Json} p @param {number} now @param {number | undefined} at @returns {Draft[] | null} */
function ofGroup(id, act, fields, p, now, at) {
  const group = p.groups[id];
  if (!group) return null;
  const typed = (/** @type {string} */ name) => (fields.get(name) ?? '').trim();
  const about = { group: id, dive: group.dive };
  const members = (/** @type {string} */ name) => fields.getAll(name).filter((person) => group.members?.includes(person) && p.people[person]);
  const seen = sighting(typed('bearing'), typed('range'), typedIn(fields), p, now);
  if (seen === null || typed('lat') || typed('lon')) return null;
  switch (act) {
    case 'check':
      return [checked(fields, about)];
    case 'drop': {
      const going = members('members');
      if (group.entered_at || !group.alone?.window || !going.length) return null;
      const drop = { kind: 'left-surface', payload: owing({ window: group.alone.window, place: null }, group.alone.owes), about: { ...about, persons: going.sort() }, ...(at === undefined ? {} : { at }) };
      return typed('engine_neutral') ? [checked(fields, about), drop] : [drop];
    }
    case 'surface': {
      const signal = SIGNALS.get(typed('signal'));
      const persons = members('persons');
      if (!signal) return null;
      if (persons.length) return [timed({ kind: 'at-surface', payload: { signal, ...seen }, about: { ...about, persons: persons.sort() } }, at)];
      // A call for help without a name: whoever is known to be at the surface signals.
      const up = (group.members ?? []).filter((/** @type {string} */ m) => p.people[m]?.place === 'at-surface');
      return signal === 'help' && up.length ? [timed({ kind: 'at-surface', payload: { signal, ...seen }, about: { ...about, persons: up } }, at)] : null;
    }
    case 'word': {
      const [by] = members('said_by');
      const lost = typed('word') === 'lost';
      return by && (lost || typed('word') === 'well') ? [{ kind: lost ? 'lost-contact' : 'others-well', payload: { said_by: by }, about }] : null;
    }
    case 'buoy':
      return COLOURS.includes(typed('colour')) ? [timed({ kind: 'buoy-seen', payload: { colour: typed('colour'), ...seen }, about }, at)] : null;
    default:
      return null;
  }
}

/** @param {Draft} draft @param {number | undefined} at @returns {Draft} */
const timed = (draft, at) => (at === undefined ? draft : { ...draft, at });

/** What came with a later version of the payload is written only where it is used. @param {Json} payload @param {Json[] | undefined} owes */
const owing = (payload, owes) => (owes?.length ? { ...payload, owes } : payload);

/** @param {URLSearchParams} fields @param {Json} about @returns {Draft} */
const checked = (fields, about) => ({
  kind: 'drop-checked',
  payload: { engine_neutral: fields.has('engine_neutral'), flag_shown: fields.has('flag_shown'), lights: fields.has('lights') ? true : null },
  about,
});

/** Out of the water, with the dive that the person is out on. @param {Json} p @param {string} id @param {Json} vessel @param {string} by @param {Json} detail @param {number | undefined} at @returns {Draft} */
function aboard(p, id, vessel, by, detail, at) {
  const full = { surfaced_at: null, bar: null, greatest_depth_m: null, stop_done: null, problem: null, ...detail };
  return timed({ kind: 'aboard', payload: { vessel, seen_by: by, detail: full }, about: out(p, [id]) }, at);
}

/** @param {Json} p @param {string} id @param {URLSearchParams} fields @param {{ name: string }} who @param {number} now @param {number} offset @param {number | undefined} at @returns {Draft[] | null} */
function homecoming(p, id, fields, who, now, offset, at) {
  const typed = (/** @type {string} */ name) => (fields.get(name) ?? '').trim();
  const system = typedIn(fields);
  const [bar, depth, up] = [quantity('pressure', typed('bar'), system, 0, 350), quantity('depth', typed('depth'), system, 1, 120), happened(typed('surfaced_at'), now, offset)];
  if (bar === undefined || depth === undefined || up === null) return null;
  /** @type {Json} */
  const detail = {
    bar, greatest_depth_m: depth,
    surfaced_at: up === undefined ? null : new Date(up).toISOString(),
    stop_done: typed('stop') ? typed('stop') === 'done' : null,
    problem: typed('trouble') || null,
  };
  const kind = typed('vessel') || 'own';
  const name = typed('vessel_name');
  const away = kind === 'other' || kind === 'shore';
  if (!['own', 'tender', 'other', 'shore'].includes(kind) || (away && (!name || !typed('seen_by')))) return null;
  const place = p.people[id].place;
  if (['ashore', 'aboard', 'other-vessel', 'landed'].includes(place)) {
    if (Object.values(detail).every((value) => value === null)) return null;
    return [{ kind: 'return-noted', payload: { detail }, about: out(p, [id]) }];
  }
  const vessel = kind === 'other' ? { kind, name } : kind === 'shore' ? { kind, place: name } : { kind };
  return [aboard(p, id, vessel, typed('seen_by') || who.name, detail, at)];
}

/** @param {boolean} names @param {URLSearchParams} fields @param {Json} p @returns {Draft[] | null} */
function counted(names, fields, p) {
  const typed = (/** @type {string} */ name) => (fields.get(name) ?? '').trim();
  const people = names ? new Set(fields.getAll('persons').filter((id) => p.people[id])).size : figure(typed('people'), 0, 1000);
  const [point, call, round] = [typed('point'), Number(typed('call')), Number(typed('round'))];
  if (people === undefined || people === null || !Number.isInteger(people) || !POINTS.includes(point) || !(call >= 1) || ![1, 2].includes(round)) return null;
  const payload = { point, call, round, method: names ? 'names' : 'heads', people, log_aboard: p.aboard };
  return [{ kind: 'head-counted', payload, about: onDive(p, point) }];
}

/** The dive that a point belongs to: leaving a site is of its dive. @param {Json} p @param {string} point */
const onDive = (p, point) => {
  const told = p.alone?.count;
  const dive = told?.point === point ? told.dive : point === 'leaving' ? p.dive : 0;
  return dive ? { dive } : {};
};

/** @param {URLSearchParams} fields @returns {Draft[] | null} */
function conditions(fields) {
  const typed = (/** @type {string} */ name) => (fields.get(name) ?? '').trim();
  // What is typed is finer than what is tapped.
  const either = (/** @type {string} */ finer, /** @type {string} */ tapped) => typed(finer) || typed(tapped);
  const read = {
    set_deg: figure(either('set_typed', 'set_deg'), 0, 360), drift_kn: figure(either('drift_typed', 'drift_kn'), 0, 15),
    wind_from_deg: figure(either('wind_from_typed', 'wind_from_deg'), 0, 360), wind_kn: figure(either('wind_typed', 'wind_kn'), 0, 120),
    visibility_m: quantity('length', either('visibility_typed', 'visibility_m'), typedIn(fields), 0, 80), water_c: figure(typed('water_c'), -3, 40),
  };
  const sea = typed('sea') || null;
  const values = Object.values(read);
  if (values.includes(undefined) || (sea && !SEAS.includes(sea))) return null;
  if (!sea && values.every((value) => value === null)) return null;
  // A direction without a speed, or the other way round, is half an observation.
  const half = (/** @type {unknown} */ a, /** @type {unknown} */ b) => (a === null) !== (b === null);
  if (half(read.set_deg, read.drift_kn) && read.drift_kn !== 0) return null;
  if (half(read.wind_from_deg, read.wind_kn) && read.wind_kn !== 0) return null;
  return [{ kind: 'conditions-observed', payload: { ...read, sea }, about: {} }];
}

/** The units that a form's page says its figures are typed in. @param {URLSearchParams} fields @returns {import('./typed.js').System} */
const typedIn = (fields) => (fields.get('typed_in') === 'imperial' ? 'imperial' : 'metric');

/** A figure as typed, a comma counting as the point: null where nothing stands, undefined where nothing can be read.
 * @param {string} text @param {number} least @param {number} most @returns {number | null | undefined} */
function figure(text, least, most) {
  if (!text) return null;
  if (!/^-?\d+([.,]\d+)?$/.test(text)) return undefined;
  const value = Number(text.replace(',', '.'));
  return value >= least && value <= most ? value : undefined;
}

/** `14:05` of the boat's local time, the last one there was: undefined where nothing is typed, null where it cannot be read.
 * @param {string} text @param {number} now @param {number} offset @returns {number | undefined | null} */
export function happened(text, now, offset) {
  if (!text) return undefined;
  const found = /^(\d{1,2})[:.](\d{2})$/.exec(text);
  if (!found || Number(found[1]) > 23 || Number(found[2]) > 59) return null;
  const day = 86_400_000;
  const midnight = Math.floor((now + offset * 60_000) / day) * day - offset * 60_000;
  const at = midnight + (Number(found[1]) * 60 + Number(found[2])) * 60_000;
  return at > now + 60_000 ? at - day : Math.min(at, now);
}

/** Bearing and range from the boat, with the place they give if the boat's own is fresh.
 * @param {string} bearing @param {string} range @param {import('./typed.js').System} system @param {Json} p @param {number} now @returns {Json | null} */
function sighting(bearing, range, system, p, now) {
  const [deg, m] = [figure(bearing, 0, 360), quantity('length', range, system, 0, 20_000)];
  if (deg === undefined || m === undefined || (deg === null) !== (m === null)) return null;
  if (deg === null || m === null) return { place: null, from_boat: null };
  const boat = p.boat;
  const fresh = Array.isArray(boat?.position) && now - Date.parse(boat.position_at) <= 60_000;
  return { place: fresh ? away(boat.position, deg, m) : null, from_boat: { bearing_deg: deg % 360, range_m: m } };
}

/** A place so far off in a direction, on the tangent plane (WGS 84 radii of curvature).
 * @param {[number, number]} from @param {number} deg @param {number} m @returns {[number, number]} */
export function away([lon, lat], deg, m) {
  const rad = Math.PI / 180;
  const [a, e2] = [6_378_137, 0.00669437999014];
  const w = 1 - e2 * Math.sin(lat * rad) ** 2;
  const north = (a * (1 - e2)) / w ** 1.5;
  const east = (a / Math.sqrt(w)) * Math.cos(lat * rad);
  const round = (/** @type {number} */ x) => Math.round(x * 1e7) / 1e7;
  return [round(lon + (m * Math.sin(deg * rad)) / east / rad), round(lat + (m * Math.cos(deg * rad)) / north / rad)];
}

/** About people with the group and dive they are out with. @param {Json} p @param {string[]} ids */
function out(p, ids) {
  const person = p.people[ids[0] ?? ''] ?? {};
  return { persons: ids, ...(person.group ? { group: person.group } : {}), ...(person.dive ? { dive: person.dive } : {}) };
}

/** @param {Json} p */
const inTrouble = (p) => Object.keys(p.people).filter((id) => p.people[id].distress || p.people[id].place === 'missing').sort();

/** The best known place of whoever is in trouble: of a group that is out, else of the boat. @param {Json} p */
function datum(p) {
  const groups = Object.values(p.groups).sort((a, b) => (a.rank ?? 99) - (b.rank ?? 99));
  const likely = groups.find((g) => g.entered_at && g.standing !== 'back' && g.likely?.position)?.likely.position;
  return likely ?? p.boat?.position ?? null;
}
