// How many of a roll are marked as seen, renewed with every tap.
document.addEventListener('change', (event) => {
  const form = event.target instanceof Element ? event.target.closest('form') : null;
  const tally = form?.querySelector('[data-tally]');
  if (!form || !(tally instanceof HTMLElement)) return;
  const seen = form.querySelectorAll('input[value="seen"]:checked').length;
  const all = form.querySelectorAll('input[value="seen"]').length;
  tally.textContent = (tally.dataset.tally ?? '').replace('%n%', String(seen)).replace('%of%', String(all));
});
