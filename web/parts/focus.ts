/**
 * The focus goes where the work goes: to the first of these that is there once the page has followed. A heading takes it
 * too, so that who works by keyboard or listens begins at the top of what was opened.
 */
export function focusOn(
  selectors: readonly string[],
  {within = document, ...options}: FocusOptions & {readonly within?: ParentNode} = {},
): void {
  requestAnimationFrame(() => {
    for (const selector of selectors) {
      const found = within.querySelector<HTMLElement>(selector);
      if (!found) continue;
      if (/^H\d$/.test(found.tagName)) found.tabIndex = -1;
      found.focus(options);
      return;
    }
  });
}
