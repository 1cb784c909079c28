// Where the keyboard stands. What it stands on may be gone when the page is drawn anew; then it goes to
// what comes next, or to the control that has come to the same place.

const CONTROLS = "button, select, input, summary, [tabindex]";

function controls(one) {
  return [...one.querySelectorAll(CONTROLS)].filter((control) => !control.disabled && control.getClientRects().length);
}

// The control that has the focus, and the elements around it with its number among their controls.
export function standing(root) {
  const control = document.activeElement;
  if (!root.contains(control) || control === root) return null;
  const around = [];
  for (let one = control.parentElement; one && root.contains(one); one = one.parentElement) {
    around.push([one, controls(one).indexOf(control)]);
  }
  return { control, around };
}

// Keeps the focus in the page after it has been drawn.
export function stay(root, stood) {
  if (!stood || root.contains(document.activeElement)) return;
  const { control, around } = stood;
  if (control.isConnected) control.focus({ preventScroll: true });
  for (const [one, number] of around) {
    if (root.contains(document.activeElement)) return;
    const left = one.isConnected ? controls(one) : [];
    const next = left[Math.min(Math.max(number, 0), left.length - 1)];
    if (next) next.focus({ preventScroll: true });
  }
}

// Takes the focus on to what comes next, if that is there and nobody has gone elsewhere. A whole panel
// gets it without being scrolled to.
export function goOn(root, next) {
  const free = document.activeElement === document.body || root.contains(document.activeElement);
  const target = next && free && root.querySelector(next);
  if (!target) return false;
  target.focus({ preventScroll: target.matches("section") });
  return true;
}
