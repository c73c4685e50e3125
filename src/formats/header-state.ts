const WORKING = /^(1(\.0*)?|down|in|on|true|yes|working|lowered|cutting)$/i;
const IDLE = /^(0(\.0*)?|up|out|off|false|no|idle|raised|lifted)$/i;

/** Whether a header worked: 1 down, 0 up, NaN for an empty cell; undefined for a word that cannot be read. */
export function headerState(text: string): number | undefined {
  if (text === "") return Number.NaN;
  if (WORKING.test(text)) return 1;
  return IDLE.test(text) ? 0 : undefined;
}
