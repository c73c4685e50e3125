import {api} from "../api/client.ts";
import type {ReceiptCard} from "../api/types.ts";
import {size} from "../files/files-panel.tsx";
import {many} from "../map/scenes.ts";
import {figures, say, unitOf} from "../units/shown.ts";
import {FileLink} from "./file-link.tsx";
import type {FileOut} from "./for-whom.ts";
import {take} from "./taken.ts";

interface Props {
  readonly files: readonly FileOut[];
  /** Of the result. */
  readonly id: string;
  /** Why they may not be taken; absent: they may. */
  readonly closed: string | undefined;
  /** Of the rates; see `ratesKey`. */
  readonly taking: string;
}

/** Files to be taken, each with what it is, its digest and what reading it back has proved. */
export function FileList({files, id, closed, taking}: Props) {
  return (
    <ul class="list out">
      {files.map((file) => (
        <li key={file.name}>
          <Download file={file} id={id} closed={closed} taking={taking} />
          <p class="small soft">
            {file.what}
            {file.sha256 && (
              <>
                {file.what && "; "}
                <span title={`SHA-256 ${file.sha256}`}>
                  sha256 <code>{file.sha256.slice(0, 12)}</code>
                </span>
              </>
            )}
          </p>
          {file.receipts.map((receipt) => (
            <Receipt key={receipt.product} receipt={receipt} />
          ))}
        </li>
      ))}
    </ul>
  );
}

function Download({file: {name, bytes}, id, closed, taking}: Omit<Props, "files"> & {readonly file: FileOut}) {
  return (
    <FileLink
      href={api.results[":id"].files[":name{.+}"].$path({param: {id, name}})}
      download={name.split("/").at(-1)}
      closed={closed !== undefined}
      why={closed}
      onTake={() => take(taking, [name])}
      about={size(bytes)}
    >
      {name}
    </FileLink>
  );
}

function Receipt({receipt}: {readonly receipt: ReceiptCard}) {
  const {passed, product, polygons, distinctRates, minLbPerAcre, maxLbPerAcre, totalLb, acres, checks} = receipt;
  const rates =
    distinctRates === 1
      ? `one rate, ${say(minLbPerAcre, "lb/ac")}`
      : `${distinctRates} rates, ${figures(minLbPerAcre, "lb/ac")} to ${say(maxLbPerAcre, "lb/ac")}`;
  return (
    <details class="small">
      <summary>
        <span class={passed ? "tick" : "cross"}>{passed ? "✓ read back" : "✗ differs"}</span> {product}:{" "}
        {figures(totalLb, "lb")} {unitOf("lb")} on {say(acres, "ac")}; {many(polygons, "polygon")}, {rates}
      </summary>
      <table>
        <thead>
          <tr>
            <th scope="col">check</th>
            <th scope="col">planned</th>
            <th scope="col">in the file</th>
          </tr>
        </thead>
        <tbody>
          {checks.map((check) => (
            <tr key={check.what}>
              <th scope="row">
                <span class={check.passed ? "tick" : "cross"}>{check.passed ? "✓" : "✗"}</span> {check.what}
              </th>
              <td>{check.planned}</td>
              <td>{check.inFile}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}
