import {signal} from "@preact/signals";

/** What the address after the # asks for: the book, or one field of it. */
export type Route = {readonly page: "book"} | {readonly page: "field"; readonly id: string};

export const route = signal<Route>(read());

/** The address before this one; absent when the page was just loaded. */
export let cameFrom: Route | undefined;

addEventListener("hashchange", () => {
  cameFrom = route.value;
  route.value = read();
});

export const fieldLink = (id: string): string => `#/fields/${encodeURIComponent(id)}`;

export function go(link: string): void {
  location.hash = link;
}

function read(): Route {
  const found = /^#\/fields\/([^/]+)$/.exec(location.hash);
  return found ? {page: "field", id: decodeURIComponent(found[1] as string)} : {page: "book"};
}
