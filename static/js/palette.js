// Changes the palette in one tap without loading the page again; the server keeps it.

document.addEventListener('submit', (event) => {
  const form = event.target;
  const button = /** @type {SubmitEvent} */ (event).submitter;
  if (!(form instanceof HTMLFormElement) || form.dataset.paletteForm === undefined) return;
  if (!(button instanceof HTMLButtonElement)) return;
  event.preventDefault();
  document.documentElement.dataset.palette = button.value;
  for (const one of form.querySelectorAll('[name="palette"]')) {
    one.setAttribute('aria-pressed', String(one === button));
  }
  const body = new URLSearchParams({ palette: button.value, back: location.pathname });
  // Where this fails the screen has still changed; only the next page load forgets it.
  fetch(form.action, { method: 'POST', body, keepalive: true, redirect: 'manual' }).catch(() => undefined);
});
