// What a page lets be heard, counted: no test can listen.

/** Counts the oscillators that run: nothing else makes a sound here.
 * @param {import('@playwright/test').BrowserContext} context */
export async function listenIn(context) {
  await context.addInitScript(() => {
    const sounds = { running: 0, started: 0 };
    /** @type {any} */ (globalThis).sounds = sounds;
    const { start, stop } = OscillatorNode.prototype;
    const ends = new WeakSet();
    OscillatorNode.prototype.start = function (...when) {
      sounds.running += 1;
      sounds.started += 1;
      this.addEventListener('ended', () => {
        if (!ends.has(this)) sounds.running -= 1;
        ends.add(this);
      });
      return start.apply(this, when);
    };
    OscillatorNode.prototype.stop = function (...when) {
      return stop.apply(this, when);
    };
  });
}

/** How many oscillators run. @param {import('@playwright/test').Page} page */
export const running = (page) => page.evaluate(() => /** @type {any} */ (globalThis).sounds.running);
