// Whether somebody is on the way to another page: what the page does by itself must not call them back.

const LONGEST_MS = 5_000;
/** @type {number | undefined} */
let since;
addEventListener('beforeunload', () => (since = performance.now()));
addEventListener('pageshow', () => (since = undefined));

/** A page that was only about to be left, as for a file to keep, goes on after a while. */
export const isLeaving = () => since !== undefined && performance.now() - since < LONGEST_MS;
