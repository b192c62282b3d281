// The start of a box that does not hold a trip of which this device holds the log: it may have been
// lost, or be another box altogether. A person says so by one tap.
import { compare, deliver, trips } from './copy.js';

const place = document.querySelector('[data-log-offers]');

/** What a trip is called, from its opening. @param {string[]} lines */
function named(lines) {
  for (const line of lines) {
    const { event } = JSON.parse(line);
    if (event.kind === 'trip-opened') return `${event.payload.boat.name} · ${event.payload.day}`;
  }
  return '';
}

/** @param {HTMLElement} place @param {string} trip */
async function offer(place, trip) {
  const { box, lacks } = await compare(trip);
  if (box !== 'lost' || lacks.length === 0) return;
  const words = place.dataset;
  const said = document.createElement('p');
  said.textContent = (words.wordOffer ?? '').replace('%trip%', named(lacks)).replace('%n%', String(lacks.length));
  const button = document.createElement('button');
  button.type = 'button';
  button.className = 'button plain';
  button.textContent = words.wordButton ?? '';
  button.addEventListener('click', async () => {
    button.disabled = true;
    const handed = await deliver(trip, lacks);
    if (handed.fresh > 0 && !handed.stopped && handed.refused.length === 0) return location.reload();
    button.disabled = false;
    said.textContent = [words.wordFailed, ...handed.refused].join(' ');
  });
  place.append(said, button);
  place.hidden = false;
}

if (place instanceof HTMLElement) {
  for (const trip of await trips().catch(() => [])) await offer(place, trip);
}
