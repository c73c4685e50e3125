import {timingSafeEqual} from "node:crypto";
import {FieldError} from "../errors.ts";

/** Who may ask: pages that this very server served, on this machine. */
export interface Guard {
  readonly token: string;
  /** Of this server: the port it listens on. */
  readonly port: () => number;
}

/**
 * Refuses what another site, or a name that was made to point here, asks through a person's browser.
 *
 * A page of another site can send requests to this machine, but not with our `Host` once its own name leads here, and
 * not without its `Origin`, or without saying so in its `Referer`. Programs that send neither of these nor
 * `Sec-Fetch-Site` are no browsers; they may read what their user may read anyway.
 *
 * @throws {FieldError} `request/host`, `request/origin`.
 */
export function checkCaller(headers: Headers, {port}: Guard): void {
  const host = headers.get("host") ?? "";
  if (!hostsOf(port()).includes(host.toLowerCase())) {
    throw new FieldError("request/host", `This server is not called ${JSON.stringify(host.slice(0, 100))}.`, {
      hint: `Open http://127.0.0.1:${port()}/ instead.`,
    });
  }
  const origin = headers.get("origin") ?? originOf(headers.get("referer"));
  const site = headers.get("sec-fetch-site");
  const foreign = origin !== null && !hostsOf(port()).some((known) => origin === `http://${known}`);
  if (foreign || (site !== null && site !== "same-origin" && site !== "none")) {
    throw new FieldError("request/origin", "A page of another site asked, and was not answered.", {
      hint: `Open http://127.0.0.1:${port()}/ and work there.`,
    });
  }
}

/** @throws {FieldError} `request/token`. */
export function checkToken(headers: Headers, {token}: Guard): void {
  const given = headers.get("x-loamwright-token") ?? "";
  const [a, b] = [Buffer.from(given), Buffer.from(token)];
  if (a.length === b.length && timingSafeEqual(a, b)) return;
  throw new FieldError("request/token", "The request to change something came without this session's token.", {
    hint: "Reload the page: the server was started again.",
  });
}

/** Of a page by its address; "null", which is nobody's, where that is no address. */
function originOf(referer: string | null): string | null {
  if (referer === null) return null;
  try {
    return new URL(referer).origin;
  } catch {
    return "null";
  }
}

function hostsOf(port: number): string[] {
  const names = ["127.0.0.1", "localhost", "[::1]"];
  return names.flatMap((name) => (port === 80 ? [name, `${name}:80`] : [`${name}:${port}`]));
}
