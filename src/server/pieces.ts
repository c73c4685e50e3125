import {FieldError} from "../errors.ts";

/** Bytes to send: as they are, or as a stream where they are many. */
export type Sending = (bytes: Uint8Array) => Uint8Array<ArrayBuffer> | ReadableStream<Uint8Array<ArrayBuffer>>;

/**
 * Sends large answers in pieces, the next one when the one before was taken: who reads slowly holds up nobody, and it is
 * seen whether he reads at all. What all slow readers together may keep in memory is bounded.
 *
 * @param mostBytes - Of all large answers on their way; one alone may be larger.
 * @returns what throws `server/busy` where there would be more.
 */
export function sendingInPieces(mostBytes: number): Sending {
  let onTheirWay = 0;
  return (bytes) => {
    if (bytes.length <= PIECE) return bytes as Uint8Array<ArrayBuffer>;
    if (onTheirWay > 0 && onTheirWay + bytes.length > mostBytes) throw busy();
    onTheirWay += bytes.length;
    let at = 0;
    let over = false;
    const end = (): void => {
      if (!over) onTheirWay -= bytes.length;
      over = true;
    };
    return new ReadableStream(
      {
        pull(controller) {
          controller.enqueue(bytes.subarray(at, at + PIECE) as Uint8Array<ArrayBuffer>);
          at += PIECE;
          if (at < bytes.length) return;
          end();
          controller.close();
        },
        cancel: end,
      },
      {highWaterMark: 0},
    );
  };
}

const PIECE = 2 ** 16;

function busy(): FieldError {
  return new FieldError("server/busy", "Too many large answers are on their way.", {hint: "Try again in a minute."});
}
