// Makes the type of the board smaller, in steps, until all that a view has fits on the screen: a room cannot
// scroll. It stops at a size that still carries to the back; what is then too much is reached by scrolling.

/** Shares of the type's own size, from all of it down to 0.7. */
const STEPS = Array.from({ length: 13 }, (_, step) => 1 - step / 40);
/** Smaller screens than this are held in a hand, and scroll. */
const ROOM = '(min-width: 60rem) and (min-height: 30rem)';

/**
 * Keeps the page on the screen whatever comes into `main`.
 * @param {HTMLElement} main
 */
export function keepFit(main) {
  const room = matchMedia(ROOM);
  const refit = () => fit(room.matches ? STEPS : [1]);
  new MutationObserver(refit).observe(main, { childList: true, subtree: true });
  addEventListener('resize', refit);
  // A picture that arrives, or a bar below that grows, changes what is left for it.
  new ResizeObserver(refit).observe(main);
  refit();
}

/** @param {readonly number[]} steps */
function fit(steps) {
  const page = document.documentElement;
  for (const step of steps) {
    page.style.setProperty('--fit', String(step));
    if (page.scrollHeight <= innerHeight) {
      return;
    }
  }
}
