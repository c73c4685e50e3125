import type {ComponentChildren} from "preact";
import {size} from "../files/files-panel.tsx";
import {many} from "../map/scenes.ts";

interface Props {
  readonly href: string;
  /** What it is saved as, or `true` for the name the server gives; absent: it opens in a new tab. */
  readonly download?: string | true | undefined;
  /** Whether it may not be taken. */
  readonly closed: boolean;
  /** Said where it may not, for those who listen. */
  readonly why?: string | undefined;
  readonly onTake?: () => void;
  /** How large it is. */
  readonly about: string;
  readonly children: ComponentChildren;
}

/** A link where a file may be taken, else only its name; how large it is beside it. */
export function FileLink({href, download, closed, why, onTake, about, children}: Props) {
  const way = download === undefined ? {target: "_blank", rel: "noreferrer"} : {download};
  return (
    <span class="row">
      {closed ? (
        <span>
          {children}
          {why !== undefined && <span class="unseen"> ({why})</span>}
        </span>
      ) : (
        <a href={href} {...way} onClick={onTake}>
          {children}
        </a>
      )}
      <span class="small soft figures">{about}</span>
    </span>
  );
}

/** "12 files, 340 kB unpacked". */
export function sizeOfZip(files: readonly {readonly bytes: number}[]): string {
  const bytes = files.reduce((sum, file) => sum + file.bytes, 0);
  return `${many(files.length, "file")}, ${size(bytes)} unpacked`;
}
