// The last lines of a run: what failed and why, a line each, for logs of which only the end is kept.

export default class Brief {
  /** @type {string[]} */
  failed = [];

  printsToStdio() {
    return false;
  }

  /** @param {import('@playwright/test/reporter').TestCase} test @param {import('@playwright/test/reporter').TestResult} result */
  onTestEnd(test, result) {
    // What follows a failure in a row is left out by the runner itself.
    if (result.status === test.expectedStatus || result.status === 'skipped') return;
    const said = (result.error?.message ?? result.status).replaceAll(/\u001b\[[0-9;]*m/g, '').split('\n').filter(Boolean).slice(0, 6).join(' | ');
    const at = result.error?.location;
    this.failed.push(`FAILED ${test.title} (${at?.file.split('/').at(-1)}:${at?.line}): ${said}`);
  }

  async onExit() {
    for (const line of this.failed) console.log(line);
  }
}
