// The shell: this page is shown because the box did not answer. It goes on with what is kept.
import { enter, listTrips } from './alone.js';

// Opened by hand while the box answers, it is only a page that says so.
if (location.pathname !== '/alone') {
  enter(NaN).then(listTrips);
}
