// Figures that were typed on the device, in metric units as everything that is kept: as the box
// reads them (`src/units/system.rs`), which `tests/vectors/units.jsonl` holds it to. Pure.

/** @typedef {'metric' | 'imperial'} System */
/** @typedef {'depth' | 'pressure' | 'length'} Measure */

export const FOOT_M = 0.3048;
const PSI_BAR = 0.0689475729316836;
const MOST_DECIMALS = 6;
/** Round figures that a typed one is taken for, coarsest first. */
const ROUND = [1, 0.5, 0.1, 0.05, 0.01, 0.005, 0.001, 0.0001, 0.00001];

/** How many of the imperial unit are one of the metric. @param {Measure} measure */
const factor = (measure) => (measure === 'pressure' ? 1 / PSI_BAR : 1 / FOOT_M);

/** Without the dust of a division. @param {number} metric */
const fine = (metric) => Math.round(metric * 1e5) / 1e5;

/** A figure as typed, in the metric unit, a comma counting as the point: null where nothing stands, undefined where
 * nothing can be read or it lies outside.
 * @param {Measure} measure @param {string} text @param {System} system @param {number} least @param {number} most @returns {number | null | undefined} */
export function quantity(measure, text, system, least, most) {
  if (!text) return null;
  if (!/^-?\d+([.,]\d+)?$/.test(text)) return undefined;
  const value = Number(text.replace(',', '.'));
  const metric = system === 'imperial' ? converted(measure, value, text) : value;
  return metric >= least && metric <= most ? metric : undefined;
}

/** @param {Measure} measure @param {number} value @param {string} text */
function converted(measure, value, text) {
  const decimals = Math.min(text.split(/[.,]/)[1]?.length ?? 0, MOST_DECIMALS);
  const scale = 10 ** decimals;
  const straight = value / factor(measure);
  // With digits after the point, the roundest metric figure that is shown just so is meant.
  const near = decimals === 0 ? [] : ROUND.filter((step) => step * factor(measure) > 1.01 / scale).map((step) => Math.round(straight / step) * step);
  const meant = near.find((metric) => Math.abs(Math.round(metric * factor(measure) * scale) / scale - value) < 1e-3 / scale);
  return fine(meant ?? straight);
}
