// The plane that touches WGS 84 at a site, as `sea/position.rs` reckons it: metres east and south
// of the site, as drawings have them.

const A = 6378137;
const F = 1 / 298.257223563;
const E2 = F * (2 - F);
const RAD = Math.PI / 180;

/** @typedef {[number, number]} Place longitude and latitude, degrees */

/** @param {Place} place @returns {[number, number, number]} */
function earthCentred([lon, lat]) {
  const [sin, cos] = [Math.sin(lat * RAD), Math.cos(lat * RAD)];
  const n = A / Math.sqrt(1 - E2 * sin * sin);
  return [n * cos * Math.cos(lon * RAD), n * cos * Math.sin(lon * RAD), n * (1 - E2) * sin];
}

/** @param {number[]} a @param {number[]} b */
const dot = (a, b) => a.reduce((sum, part, nth) => sum + part * (b[nth] ?? 0), 0);

/** @param {Place} origin */
export function planeRound(origin) {
  const [lon, lat] = [origin[0] * RAD, origin[1] * RAD];
  const centre = earthCentred(origin);
  const east = [-Math.sin(lon), Math.cos(lon), 0];
  const north = [-Math.sin(lat) * Math.cos(lon), -Math.sin(lat) * Math.sin(lon), Math.cos(lat)];
  const up = [Math.cos(lat) * Math.cos(lon), Math.cos(lat) * Math.sin(lon), Math.sin(lat)];
  return {
    /** @param {Place} place */
    toDrawing(place) {
      const way = earthCentred(place).map((part, nth) => part - (centre[nth] ?? 0));
      return { x: dot(way, east), y: -dot(way, north) };
    },
    /** @param {{ x: number, y: number }} at @returns {Place} */
    toPlace({ x, y }) {
      const [px = 0, py = 0, pz = 0] = centre.map((part, nth) => part + (east[nth] ?? 0) * x - (north[nth] ?? 0) * y);
      const [ux = 0, uy = 0, uz = 0] = up;
      const k = 1 / (1 - E2);
      const a = ux * ux + uy * uy + k * uz * uz;
      const b = px * ux + py * uy + k * pz * uz;
      const c = px * px + py * py + k * pz * pz - A * A;
      const s = -c / (b + Math.sqrt(Math.max(b * b - a * c, 0)));
      const [gx, gy, gz] = [px + s * ux, py + s * uy, pz + s * uz];
      return [Math.atan2(gy, gx) / RAD, Math.atan2(gz, (1 - E2) * Math.hypot(gx, gy)) / RAD];
    },
  };
}

/** A place as it is typed. @param {Place} place */
export function written([lon, lat]) {
  const half = (/** @type {number} */ deg, /** @type {string} */ plus, /** @type {string} */ minus) => `${Math.abs(deg).toFixed(7)} ${deg < 0 ? minus : plus}`;
  return `${half(lat, 'N', 'S')} ${half(lon, 'E', 'W')}`;
}
