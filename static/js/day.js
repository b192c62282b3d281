// Renews the list of the day's trips while it is looked at, as no single trip's stream does.
import { renew } from './live.js';

const EVERY_MS = 15_000;

setInterval(() => {
  if (!document.hidden) renew();
}, EVERY_MS);
