// Units on the device: what a page of its own tells. The box says which, with each page of its own.
import { FOOT_M } from './typed.js';
import { say } from './words.js';

const NAUTICAL_MILE_M = 1852;

/** The units that this page tells. @returns {import('./typed.js').System} */
export const units = () => (document.getElementById('frame')?.dataset.units === 'imperial' ? 'imperial' : 'metric');

/** The sign of a measure's unit. @param {import('./typed.js').Measure} measure */
export function sign(measure) {
  if (units() === 'metric') return say(measure === 'pressure' ? 'measure-bar' : 'measure-metres');
  return say(measure === 'pressure' ? 'measure-psi' : 'measure-feet');
}

/** A distance on the water with its unit. @param {number} m */
export function distance(m) {
  if (units() === 'metric') return `${Math.round(m)} ${say('measure-metres')}`;
  if (m >= NAUTICAL_MILE_M) return `${(m / NAUTICAL_MILE_M).toFixed(1)} ${say('measure-nautical-miles')}`;
  const ft = m / FOOT_M;
  const step = ft < 300 ? 10 : 50;
  return `${Math.round(ft / step) * step} ${say('measure-feet')}`;
}
