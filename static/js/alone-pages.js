// The pages of a device alone: the helm's and the deck's work out of the kept picture and the
// device's own acts. Each returns markup; every value that comes from a log is escaped.
import { local } from './clock.js';
import { distance, sign, units } from './units.js';
import { mark, names, say } from './words.js';

/**
 * @typedef {Record<string, any>} Json
 * @typedef {{ p: Json, place: string, trip: string, rest: string, now: number, waiting: Json[], why: string, note: string }} View
 */

/** Escaped, and what turns a line round replaced, as on the box's own pages. @param {unknown} text */
export const e = (text) => String(text ?? '').replace(/[\u202a-\u202e\u2066-\u2069]/g, '\ufffd').replace(/[&<>"']/g, (c) => `&#${c.charCodeAt(0)};`);
/** @param {string} key @param {Record<string, string | number>} [args] */
const s = (key, args) => e(say(key, args));

/** @type {Record<string, string>} */
const PHASE = {
  distress: 'distress', missing: 'missing', 'lost-contact': 'distress', 'out-of-gas': 'overdue', overdue: 'overdue',
  'partner-overdue': 'split', unresolved: 'unresolved', late: 'late', 'partner-clock': 'split', 'at-surface': 'surface',
  'buoy-up': 'buoy', due: 'due', 'in-window': 'window', 'in-water': 'down', ready: 'ready', planned: 'ready', back: 'aboard',
};
/** @type {Record<string, string>} */
const URGENCY = {
  distress: 'emergency', missing: 'emergency', 'lost-contact': 'alarm', 'out-of-gas': 'alarm', overdue: 'alarm',
  'partner-overdue': 'alarm', unresolved: 'warning', late: 'warning',
};
const PRIORITIES = ['emergency', 'alarm', 'warning', 'caution'];
const UNDO_MS = 60_000;
const ALERT_TITLES = /** @type {Record<string, string>} */ ({ 'partner-overdue': 'alert-partner', 'beacon-test': 'alert-beacon-test' });

/** The word spoken for a letter: its drawing says it. @param {string} letter */
const spoken = (letter) => /aria-label="([^"]*)"/.exec(mark(letter))?.[1] ?? letter;
/** @param {View} v @param {string} [rest] */
const url = (v, rest = '') => `/${v.place}/${v.trip}${rest ? `/${rest}` : ''}`;
/** @param {string | null | undefined} at */
const clock = (at) => (at ? local(Date.parse(at)) : '');
/** @param {Json} p @param {string[]} ids */
const namesOf = (p, ids) => ids.map((id) => p.people[id]?.name ?? '?');
/** Whether two count blind just now: then nothing shows how many are aboard. @param {Json} p */
const counting = (p) => Boolean(p.alone?.count?.open);

/** The sentence that says what is wrong. @param {Json} p @param {Json} alert */
export function alertTitle(p, alert) {
  const cause = alert.cause ?? {};
  const group = p.groups[alert.group];
  const key = ALERT_TITLES[cause.cause] ?? `alert-${cause.cause === 'count-failed' ? `count-failed-${cause.at_site ? 'site' : 'quay'}` : cause.cause}`;
  const people = cause.names ?? cause.down ?? cause.with ?? [];
  return say(key, {
    group: group ? spoken(group.letter) : '', names: names(people), name: cause.name ?? '', reason: cause.reason ?? '',
    beacon: cause.identity ?? '',
  });
}

/** Alerts, worst first, over ones last. @param {Json} p @returns {[string, Json][]} */
export function alertsOf(p) {
  const over = (/** @type {Json} */ a) => Number(a.state === 'resolved-unacknowledged');
  return Object.entries(p.alerts).sort(([k, a], [l, b]) =>
    over(a) - over(b) || PRIORITIES.indexOf(a.priority) - PRIORITIES.indexOf(b.priority) || Number(a.state === 'acknowledged') - Number(b.state === 'acknowledged') || Date.parse(a.since) - Date.parse(b.since) || k.localeCompare(l));
}

const SIGNS = /** @type {Record<string, string>} */ ({ emergency: '■', alarm: '■', warning: '▲', caution: '●' });

/** @param {View} v @param {[string, Json]} alert */
function alertRow(v, [key, alert]) {
  const group = v.p.groups[alert.group];
  const state = alert.state === 'resolved-unacknowledged' ? 'resolved' : alert.state;
  const detail = alert.acknowledged ? say('alone-seen-by', { name: alert.acknowledged.by }) : say('alone-alert-since', { since: clock(alert.since) });
  return `<li class="alert" id="alert-${e(key.replace(/[^a-z0-9]/gi, '-'))}" data-alert-priority="${e(alert.priority)}" data-alert-state="${e(state)}" data-alert-since="${e(alert.since)}"${alert.quiet_until ? ` data-silenced-until="${e(alert.quiet_until)}"` : ''}>
<a class="alert-link" href="${url(v, 'alerts')}"><span class="sign" aria-hidden="true">${SIGNS[alert.priority] ?? ''}</span>${group ? mark(group.letter) : ''}
<span class="alert-text"><strong>${e(alertTitle(v.p, alert))}</strong> <span class="alert-detail">${e(detail)}</span></span>
<span class="alert-state"><span>${s(`priority-${alert.priority}`)}</span> <span>${s(`alert-state-${state}`)}${alert.quiet_until ? ` <b data-quiet-left="${e(alert.quiet_until)}"></b>` : ''}</span></span></a></li>`;
}

/** @param {View} v */
export function strip(v) {
  const alerts = alertsOf(v.p);
  if (!alerts.length) return `<section id="strip" class="strip" aria-label="${s('alone-alerts')}"><p class="strip-quiet">${s('alone-no-alerts')}</p></section>`;
  const more = alerts.length > 1 ? `<a class="strip-more" href="${url(v, 'alerts')}"><b class="numeral">+${alerts.length - 1}</b> <span>${s('alone-more-alerts')}</span></a>` : '';
  return `<section id="strip" class="strip" aria-label="${s('alone-alerts')}"><ul class="strip-rows">${alerts.map((a) => alertRow(v, a)).join('')}</ul>${more}</section>`;
}

/** A form whose act is kept here. @param {View} v @param {string} rest @param {string} inner @param {string} [id] */
const form = (v, rest, inner, id) => `<form method="post" action="${url(v, rest)}"${id ? ` id="${id}"` : ''}>${units() === 'metric' ? '' : hidden('typed_in', units())}${inner}</form>`;
/** @param {string} name @param {unknown} value */
const hidden = (name, value) => `<input type="hidden" name="${name}" value="${e(value)}">`;
/** @param {string} label @param {string} weight @param {string} [attributes] */
const button = (label, weight = 'primary', attributes = '') => `<button class="button ${weight}" ${attributes}><span>${label}</span></button>`;
/** @param {string} href @param {string} label @param {string} weight */
const link = (href, label, weight = 'plain') => `<a class="button ${weight}" href="${e(href)}"><span>${label}</span></a>`;
/** @param {string} name @param {string} label @param {string} [hint] */
const line = (name, label, hint = '') => `<div class="field"><label for="${name}">${label}</label>${hint ? `<p class="hint" id="${name}-hint">${hint}</p>` : ''}<input id="${name}" name="${name}" type="text" autocomplete="off"${hint ? ` aria-describedby="${name}-hint"` : ''}></div>`;
/** @param {string} name @param {string} label @param {string} unit */
const number = (name, label, unit) => `<div class="field number"><label for="${name}">${label}</label><span class="with-unit"><input id="${name}" name="${name}" type="text" inputmode="decimal" autocomplete="off" aria-describedby="${name}-unit"><span class="unit" id="${name}-unit">${unit}</span></span></div>`;
/** @param {string} kind @param {string} name @param {string} title @param {[string, string][]} choices @param {(value: string) => boolean} [on] */
const choices = (kind, name, title, choices, on = () => false) => `<fieldset class="field checks"><legend>${title}</legend>${choices.map(([value, label], nth) => `<label class="check"><input type="${kind}" id="${name}-${nth}" name="${name}" value="${e(value)}"${on(value) ? ' checked' : ''}><span class="check-text">${e(label)}</span></label>`).join('')}</fieldset>`;

/** How a group stands, in a row that goes on by itself. @param {View} v @param {string} id @param {Json} g */
function row(v, id, g) {
  const phase = PHASE[g.standing] ?? 'ready';
  const d = g.deadlines;
  const byTime = d && ['down', 'window', 'due', 'late', 'overdue'].includes(phase);
  const [caption, to] = g.partner_until && ['partner-clock', 'partner-overdue'].includes(g.standing) ? ['alone-partner', g.partner_until]
    : !byTime ? ['', '']
    : phase === 'due' ? ['alone-late-in', d.latest] : phase === 'late' ? ['alone-overdue-in', d.overdue] : phase === 'overdue' ? ['alone-overdue-for', d.overdue] : ['alone-due-in', d.expected];
  const who = namesOf(v.p, g.members ?? []);
  const why = g.at_surface ? say('alone-up-of', { n: g.up ?? 0, of: who.length }) : g.accounted && !counting(v.p) ? say('alone-of-aboard', { n: g.accounted, of: who.length }) : '';
  const ticking = byTime ? ` data-earliest="${e(d.earliest)}" data-expected="${e(d.expected)}" data-latest="${e(d.latest)}" data-overdue="${e(d.overdue)}"
 data-word-down="${s('phase-down')}" data-word-window="${s('phase-window')}" data-word-due="${s('phase-due')}" data-word-late="${s('phase-late')}" data-word-overdue="${s('phase-overdue')}"
 data-caption-down="${s('alone-due-in')}" data-caption-window="${s('alone-due-in')}" data-caption-due="${s('alone-late-in')}" data-caption-late="${s('alone-overdue-in')}" data-caption-overdue="${s('alone-overdue-for')}"` : '';
  return `<li class="row" id="group-${e(id)}" data-phase="${phase}" data-urgency="${URGENCY[g.standing] ?? 'none'}" data-name="${e(spoken(g.letter))}"${ticking}>
<a class="row-link" href="${url(v, `group/${id}`)}"><span class="row-mark">${mark(g.letter)}</span>
<span class="row-text"><strong class="row-who">${e(names(who))}</strong> <span class="row-why">${e(why)}</span></span>
<span class="row-say"><strong class="row-phase"><span data-phase-word>${s(`phase-${phase}`)}</span></strong> <span data-caption>${caption ? s(caption) : ''}</span></span>
<span class="row-figure">${to ? `<b class="numeral" data-due="${e(to)}"></b> <span class="unit" data-unit="${s('alone-min')}" data-unit-seconds="${s('alone-min-s')}"></span>` : ''}</span></a></li>`;
}

/** @param {View} v */
const groupsOf = (v) => /** @type {[string, Json][]} */ (Object.entries(v.p.groups)).sort(([, a], [, b]) => (a.rank ?? 99) - (b.rank ?? 99));

/** @param {View} v */
function watch(v) {
  const groups = groupsOf(v);
  const list = groups.length ? `<ol class="ledger" aria-label="${s('alone-groups')}">${groups.map(([id, g]) => row(v, id, g)).join('')}</ol>` : `<p>${s('alone-nobody-groups')}</p>`;
  const lookout = v.p.lookout ? s('alone-lookout-is', { name: v.p.lookout.name }) : s('alone-no-lookout');
  const nobody = v.p.out === 0 && !counting(v.p) ? `<p class="caution">${s('alone-nobody-out')}</p>` : '';
  return `${list}${nobody}<p class="line"><a class="line-link${v.p.lookout ? '' : ' doubt'}" href="${url(v, 'lookout')}">${lookout}</a></p>${more(v)}`;
}

/** The other pages there are. @param {View} v */
function more(v) {
  const ways = [['alerts', 'alone-alerts'], ['pickup', 'alone-pickup'], ['chart', 'alone-chart'], ['count', 'alone-count'], ['roll', 'alone-roll'], ['conditions', 'alone-conditions'], ['recall', 'alone-recall'], ['incident', 'alone-note'], ['saved', 'alone-saved'], ['logs', 'alone-logs']];
  return `<nav class="ways-alone" aria-label="${s('alone-more')}">${ways.map(([to, key]) => `<a class="way" href="${url(v, to)}"${v.rest === to ? ' aria-current="page"' : ''}>${s(key ?? '')}</a>`).join('')}</nav>`;
}

/** Acknowledge and quiet. @param {View} v @param {[string, Json]} alert @param {string} back */
function answers(v, [key, alert], back) {
  if (alert.acknowledged || v.place === 'desk') return '';
  const fields = hidden('alert', key) + hidden('cause', alert.word) + hidden('back', back);
  const quiet = alert.state === 'active' && alert.priority !== 'caution' ? form(v, 'quiet', fields + button(s('alone-quiet'), 'plain')) : '';
  return form(v, 'acknowledge', fields + `<button class="button primary"><span>${s('alone-acknowledge')}</span><small>${e(alertTitle(v.p, alert))}</small></button>`) + quiet;
}

/** @param {View} v */
function alerts(v) {
  const all = alertsOf(v.p);
  const list = all.map((alert) => `<li>${`<ul class="strip-rows">${alertRow(v, alert)}</ul>`}<div class="apart">${answers(v, alert, 'alerts')}</div></li>`).join('');
  return `<h1>${s('alone-alerts')}</h1>${all.length ? `<ul class="plain-list">${list}</ul>` : `<p>${s('alone-no-alerts')}</p>`}`;
}

/** @param {View} v @param {string} id */
function group(v, id) {
  const g = v.p.groups[id];
  if (!g) return onlyBox(v);
  const [members, at] = [g.members ?? [], line('at', s('alone-at'), s('alone-at-hint'))];
  const named = (/** @type {string[]} */ ids) => /** @type {[string, string][]} */ (ids.map((m) => [m, v.p.people[m]?.name ?? '?']));
  const head = `<div class="bleed"><ol class="ledger" aria-label="${e(spoken(g.letter))}">${row(v, id, g)}</ol></div>`;
  if (!g.entered_at) {
    if (!g.alone?.window) return `${head}<p class="warned">${s('alone-no-window')}</p>`;
    const tick = (/** @type {string} */ name, /** @type {string} */ key) => `<label class="check"><input type="checkbox" id="${name}" name="${name}" value="yes"><span class="check-text">${s(key)}</span></label>`;
    const checks = g.alone.checked ? '' : `<div class="field checks">${tick('engine_neutral', 'alone-check-engine')}${tick('flag_shown', 'alone-check-flag')}${tick('lights', 'alone-check-lights')}</div>`;
    return `${head}${form(v, `group/${id}/drop`, `${checks}${choices('checkbox', 'members', s('alone-going'), named(members), (m) => v.p.people[m]?.place === 'aboard')}<details><summary>${s('alone-at')}</summary>${at}</details>${button(s('alone-left-surface'))}<p class="caution">${s('alone-limits')}</p>`, 'drop')}`;
  }
  const out = members.filter((/** @type {string} */ m) => ['in-water', 'at-surface', 'missing', 'unresolved'].includes(v.p.people[m]?.place));
  const up = members.filter((/** @type {string} */ m) => !['in-water', 'missing', 'unresolved'].includes(v.p.people[m]?.place));
  const down = out.filter((/** @type {string} */ m) => v.p.people[m]?.place !== 'at-surface');
  const people = `<h2>${s('alone-people')}</h2><ul class="mates">${members.map((/** @type {string} */ m) => {
    const who = v.p.people[m] ?? {};
    const board = out.includes(m) ? form(v, 'aboard', hidden('person', m) + `<button class="button plain"><span>${s('alone-aboard')}<span class="unseen"> ${e(who.name)}</span></span></button>`) : '';
    return `<li class="mate"${who.distress ? ' data-distress' : ''}><a class="mate-link" href="${url(v, `return/${m}`)}"><strong>${e(who.name)}</strong> <span>${s(`place-${who.place}`)}</span> <span>${clock(who.since)}</span>${who.distress ? ` <b>${s('alone-help')}</b>` : ''}</a>${board}</li>`;
  }).join('')}</ul>`;
  const where = `<details><summary>${s('alone-at')}, ${s('alone-bearing')}</summary>${at}<div class="fields">${number('bearing', s('alone-bearing'), s('alone-degrees'))}${number('range', s('alone-range'), e(sign('length')))}</div></details>`;
  const heads = out.length ? form(v, `group/${id}/surface`, `${choices('checkbox', 'persons', s('alone-heads'), named(out))}${where}<div class="stack">${button(s('alone-all-well'), 'primary', 'name="signal" value="well"')}${button(s('alone-no-signal'), 'plain', 'name="signal" value="none"')}</div>`, 'heads') : '';
  const word = down.length && up.length ? form(v, `group/${id}/word`, `${choices('radio', 'said_by', s('alone-who-says'), named(up))}<div class="apart">${button(s('alone-others-well'), 'plain', 'name="word" value="well"')}${button(s('alone-lost-contact'), 'grave', 'name="word" value="lost"')}</div>`, 'word') : '';
  const buoy = down.length ? `<h2>${s('alone-buoy')}</h2><p class="hint">${s('alone-buoy-note')}</p><div class="tile-set">${['orange', 'yellow', 'other'].map((c) => form(v, `group/${id}/buoy`, hidden('colour', c) + button(s(`alone-buoy-${c}`), 'plain'))).join('')}</div>` : '';
  return `${head}${people}${heads}${word}${buoy}`;
}

/** @param {View} v @param {string} id */
function homecoming(v, id) {
  const who = v.p.people[id];
  if (!who) return onlyBox(v);
  return `<h1>${s('alone-return', { name: who.name })}</h1><p>${s(`place-${who.place}`)} ${clock(who.since)}</p>${form(v, `return/${id}`, `<div class="fields">${number('bar', s('alone-bar'), e(sign('pressure')))}${number('depth', s('alone-depth'), e(sign('depth')))}</div>${line('trouble', s('alone-trouble'))}${line('at', s('alone-at'), s('alone-at-hint'))}${button(s('alone-return-send'))}`)}`;
}

/** @param {View} v */
function count(v) {
  const told = v.p.alone?.count;
  const mine = v.waiting.some((act) => act.events.some((/** @type {Json} */ one) => one.kind === 'head-counted' && one.payload.point === told?.point && one.payload.call === told?.call && one.payload.round === told?.round));
  if (mine) return `<h1>${s('alone-count')}</h1><p>${s('alone-count-waits')}</p>`;
  if (!told) return `<h1>${s('alone-count')}</h1><p>${s('alone-count-no')}</p>`;
  return `<h1>${s('alone-count')}</h1><p>${s('alone-count-how')}</p>${form(v, 'count', `${hidden('point', told.point)}${hidden('call', told.call)}${hidden('round', told.round)}${number('people', s('alone-count-people'), '')}${button(s('alone-count-send'))}`)}`;
}

/** @param {View} v */
function roll(v) {
  const point = v.p.alone?.count?.point ?? 'leaving';
  const called = Object.entries(v.p.people).filter(([, who]) => who.coming !== false && (['aboard', 'unresolved', 'missing'].includes(who.place) || (who.place === 'ashore' && point === 'departure')));
  const one = (/** @type {string} */ id, /** @type {Json} */ who) => `<fieldset class="field called"><legend>${e(who.name)}</legend><label class="check"><input type="radio" name="p-${e(id)}" value="seen"><span class="check-text">${s('alone-roll-seen')}</span></label><label class="check"><input type="radio" name="p-${e(id)}" value="not-seen"><span class="check-text">${s('alone-roll-not-seen')}</span></label></fieldset>`;
  return `<h1>${s('alone-roll')}</h1>${form(v, 'roll', `${hidden('point', point)}${called.map(([id, who]) => one(id, who)).join('')}${button(s('alone-roll-send'))}`)}`;
}

/** @param {View} v */
const conditions = (v) => `<h1>${s('alone-conditions')}</h1>${form(v, 'conditions', `<div class="fields">${number('set_deg', s('alone-set'), s('alone-degrees'))}${number('drift_kn', s('alone-drift'), s('alone-knots'))}</div><div class="fields">${number('wind_from_deg', s('alone-wind-from'), s('alone-degrees'))}${number('wind_kn', s('alone-wind'), s('alone-knots'))}</div>${number('visibility_m', s('alone-visibility'), e(sign('length')))}${button(s('alone-conditions-send'))}`)}`;

/** @param {View} v */
const note = (v) => `<h1>${s('alone-note')}</h1>${form(v, 'incident', `<div class="field"><label for="text">${s('alone-note-what')}</label><textarea id="text" name="text" rows="3"></textarea></div>${button(s('alone-note-send'))}`)}`;

/** @param {View} v */
const recall = (v) => `<h1>${s('alone-recall')}</h1><p class="warned">${s('alone-recall-caution')}</p>${form(v, 'recall', `${choices('radio', 'signal', s('alone-recall-how'), [['revs', say('helm-recall-revs')], ['ladder', say('helm-recall-ladder')], ['tone', say('helm-recall-tone')]])}${button(s('alone-recall-send'), 'grave')}`)}`;

/** @param {View} v */
const lookout = (v) => `<h1>${s('alone-lookout')}</h1><p>${v.p.lookout ? s('alone-lookout-is', { name: v.p.lookout.name }) : s('alone-no-lookout')}</p>${form(v, 'lookout', `${line('lookout', s('alone-lookout-name'))}${button(s('alone-lookout-send'))}`)}`;

/** @param {View} v */
function emergency(v) {
  const { p } = v;
  const declare = p.emergency ? `<p class="warned">${s('alone-emergency-declared', { reason: p.emergency.reason })}</p>`
    : `<div class="stack">${['missing', 'distress', 'injury', 'boat'].map((what) => form(v, 'emergency', hidden('what', what) + button(s(`helm-reason-${what}`), 'grave'))).join('')}</div>`;
  const plan = /** @type {string[]} */ (p.alone?.emergency_plan ?? []);
  const taken = new Set(p.emergency?.steps ?? []);
  const steps = plan.map((text, nth) => `<li>${e(text)} ${taken.has(nth) ? `<b>${s('alone-step-taken')}</b>` : p.emergency ? form(v, 'emergency/step', hidden('step', nth) + button(s('alone-step-done'), 'plain')) : ''}</li>`).join('');
  const people = /** @type {[string, string][]} */ (Object.entries(p.people).filter(([, who]) => who.coming !== false && who.place !== 'missing').sort(([, a], [, b]) => Number(['aboard', 'ashore'].includes(a.place)) - Number(['aboard', 'ashore'].includes(b.place))).map(([id, who]) => [id, who.name]));
  return `<h1>${s('alone-emergency')}</h1>${declare}<h2>${s('alone-steps')}</h2><ol class="steps">${steps}</ol>${form(v, 'emergency/missing', `${choices('checkbox', 'persons', s('alone-missing-who'), people)}${button(s('alone-missing'), 'grave')}`)}`;
}

/** @param {View} v */
function pickup(v) {
  const rows = /** @type {[string, Json][]} */ (Object.entries(v.p.pickup?.rows ?? {})).sort(([, a], [, b]) => a.rank - b.rank);
  const list = rows.map(([name, r]) => `<li>${mark(name[0] ?? '')} <strong>${e(spoken(name[0] ?? ''))}</strong> ${String(Math.round(r.course_deg ?? 0)).padStart(3, '0')}° T · ${r.run_m === undefined || r.run_m === null ? '' : e(distance(r.run_m))}${r.stand_off_m !== undefined ? ` · ${s('alone-stand-off', { metres: distance(r.stand_off_m) })}` : ''}</li>`).join('');
  return `<h1>${s('alone-pickup')}</h1><p class="warned">${s('alone-pickup-aged')}</p>${rows.length ? `<ol class="plain-list">${list}</ol>` : `<p>${s('alone-pickup-none')}</p>`}`;
}

/** @param {View} v */
function chart(v) {
  const list = groupsOf(v).filter(([, g]) => g.likely && g.entered_at && g.standing !== 'back').map(([, g]) => {
    const [lon, lat] = g.likely.position;
    return `<li>${mark(g.letter)} <strong>${e(spoken(g.letter))}</strong> ${s('alone-likely', { spread: distance(g.likely.spread_m), place: `${lat.toFixed(5)}, ${lon.toFixed(5)}`, at: clock(g.likely.at) })}</li>`;
  }).join('');
  return `<h1>${s('alone-chart')}</h1><p class="warned">${s('alone-chart-aged')}</p><ul class="plain-list">${list}</ul>`;
}

/** What is saved here and waits. @param {View} v */
function saved(v) {
  const list = v.waiting.map((act) => `<li><b>${local(Date.parse(act.events[0]?.at))}</b> ${e(act.words)}${act.refused ? ` <span class="warned">${s('alone-refused', { why: act.refused })}</span>` : ''}</li>`).join('');
  return `<h1>${s('alone-saved')}</h1>${v.waiting.length ? `<p>${s('alone-waits')}</p><ol class="plain-list">${list}</ol>` : `<p>${s('alone-none-waiting')}</p>`}<p class="line"><a class="line-link" href="${url(v, 'logs')}">${s('alone-logs')}</a></p>`;
}

/** @param {View} v */
const onlyBox = (v) => `<h1>${s('alone-working')}</h1><p>${s('alone-only-box')}</p>`;

/** The page of a path. @param {View} v @returns {string} */
function page(v) {
  const of = /^(group|return)\/([0-9a-f-]{36})/.exec(v.rest);
  if (of?.[1] === 'group') return group(v, of[2] ?? '');
  if (of?.[1] === 'return') return homecoming(v, of[2] ?? '');
  switch (v.rest.split('/')[0]) {
    case '': return watch(v);
    case 'alerts': case 'acknowledge': case 'quiet': return alerts(v);
    case 'count': return count(v);
    case 'roll': return roll(v);
    case 'conditions': return conditions(v);
    case 'incident': return note(v);
    case 'recall': return recall(v);
    case 'lookout': return lookout(v);
    case 'emergency': case 'handover': return emergency(v);
    case 'pickup': return pickup(v);
    case 'chart': return chart(v);
    case 'saved': return saved(v);
    case 'logs': return `<h1>${s('alone-logs')}</h1><div id="alone-logs"></div>`;
    default: return onlyBox(v);
  }
}

/** The last act, to be taken back. @param {View} v */
function undo(v) {
  const last = v.waiting.at(-1);
  if (!last || last.refused || last.events.some((/** @type {Json} */ one) => one.kind === 'voided')) return '';
  const until = new Date(Date.parse(last.events[0]?.at) + UNDO_MS);
  if (v.now > until.getTime()) return '';
  return `<div class="undo" role="status" data-undo-until="${until.toISOString()}"><p>${e(last.words)}. ${s('alone-saved')}</p><button type="button" class="button plain" data-take-back="${last.nth}"><span>${s('alone-undo')}</span> <small data-undo-left></small></button></div>`;
}

/** The whole frame. @param {View} v @param {boolean} drill */
export function frame(v, drill) {
  const waits = v.waiting.length;
  const first = alertsOf(v.p).find(([, a]) => (a.state === 'active' || a.state === 'silenced') && a.priority !== 'caution');
  const figures = counting(v.p) ? s('alone-counting') : `<span class="count"><b class="numeral">${v.p.out}</b> ${s('alone-out')}</span> <span class="count"><b>${v.p.under}</b> ${s('alone-under')}</span>`;
  const shelf = v.rest === '' || v.rest.startsWith('group/') ? (v.rest.startsWith('group/') && v.p.groups[v.rest.split('/')[1] ?? '']?.entered_at
    ? `<button class="button grave" form="heads" name="signal" value="help"><span>${s('alone-help')}</span></button>`
    : first ? answers(v, first, v.rest) : link(url(v, 'emergency'), s('alone-emergency'), 'grave')) : link(url(v), s(v.place === 'helm' ? 'alone-watch' : 'alone-groups'));
  return `${strip(v)}<header class="mast">${drill ? `<strong class="drill-word">${s('alone-drill')}</strong>` : ''}<div class="mast-text">${figures}</div><span class="age" data-link="lost"><b>${s('alone-working')}</b> ${waits ? `<a class="waits-here" href="${url(v, 'saved')}">${s('alone-waiting', { n: waits })}</a>` : `<span>${s('alone-none-waiting')}</span>`}</span></header>
<main id="main" tabindex="-1"><p class="caution why-alone" role="status">${e(v.why)}</p>${v.note ? `<p class="problem" role="alert" id="problem" tabindex="-1">${e(v.note)}</p>` : ''}${undo(v)}${page(v)}</main>
<section class="shelf" aria-label="${s('alone-more')}">${shelf}</section>
<section class="spine" aria-label="${s('alone-more')}"><nav class="ways" aria-label="${s('alone-watch')}"><a class="way" href="${url(v)}"${v.rest === '' ? ' aria-current="page"' : ''}>${s(v.place === 'helm' ? 'alone-watch' : 'alone-groups')}</a><a class="way" href="${url(v, 'pickup')}"${v.rest === 'pickup' ? ' aria-current="page"' : ''}>${s('alone-pickup')}</a><a class="way" href="${url(v, 'emergency')}">${s('alone-emergency')}</a></nav>
<div class="sound"><button type="button" class="way" data-sound-switch aria-pressed="false" data-word-on="${s('alone-sound-on')}" data-word-off="${s('alone-sound-off')}">${s('alone-sound-off')}</button></div></section>`;
}
