// Starts what makes a page live. Without it every page still works by links and forms.
import './palette.js';
import './hold.js';
import './undo.js';
import './sound.js';
import './ticks.js';
import './tally.js';
import './live.js';
import './install.js';
import './watching.js';
import './ladder.js';

document.documentElement.dataset.scripts = '';
const problem = document.getElementById('problem');
if (problem) problem.focus();
// What goes on without the box is fetched when the page stands: nobody waits for it.
addEventListener('load', () => import('./going-on.js'));
