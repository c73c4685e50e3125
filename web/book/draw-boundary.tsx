import {useSignal} from "@preact/signals";
import {useEffect, useRef} from "preact/hooks";
import {problemOf, upload} from "../api/client.ts";
import type {ApiProblem, SourceCard} from "../api/types.ts";
import {NorthArrow, ScaleBar} from "../field/scale-and-north.tsx";
import {IssueList} from "../files/issue-list.tsx";
import {multiPolygon, type Parts, sayParts, withCutOut, withPart} from "../hands/ground/parts.ts";
import {atHand} from "../map/at-hand.ts";
import {metresPerPixel} from "../map/field-map.ts";
import {startHand} from "../map/hand.ts";
import {HandBar} from "../map/hand-bar.tsx";
import type {GlMap} from "../map/maplibre.ts";
import {Problem} from "../parts/problem.tsx";
import {fields} from "../state/book.ts";
import {type BlankSheet, blankSheet} from "./blank-sheet.ts";
import {GoThere} from "./go-there.tsx";
import {NameField} from "./name-field.tsx";

interface Props {
  /** The field is made. */
  readonly made: () => void;
  readonly leave: () => void;
}

/** A boundary drawn by hand over a blank sheet, part by part, with ground cut out, until it is named and made a field. */
export function DrawBoundary({made, leave}: Props) {
  const container = useRef<HTMLDivElement>(null);
  const sheet = useRef<BlankSheet | undefined>(undefined);
  const scale = useSignal(1);
  const parts = useSignal<Parts>([]);
  const before = useSignal<readonly Parts[]>([]);
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const card = useSignal<SourceCard | undefined>(undefined);

  const put = (next: Parts) => {
    before.value = [...before.value, parts.value];
    lay(next);
  };
  const lay = (next: Parts) => {
    parts.value = next;
    card.value = undefined;
    wrong.value = undefined;
    sheet.current?.show(next.length > 0 ? multiPolygon(next) : undefined);
    if (next.length > 0) void read(next);
  };
  /** What the server makes of it so far: acres, and what is doubtful. */
  const read = async (drawn: Parts): Promise<void> => {
    try {
      const found = await upload(fileOf(drawn));
      if (parts.value === drawn) card.value = found;
    } catch (error) {
      if (parts.value === drawn) wrong.value = problemOf(error);
    }
  };
  const inSight = (): GlMap | undefined => {
    container.current?.scrollIntoView({block: "nearest"});
    return sheet.current?.gl;
  };
  const drawPart = () => {
    const gl = inSight();
    if (!gl) return;
    startHand(gl, "polygon", {
      says: parts.value.length === 0 ? "The edge of the field." : "One more part of the field.",
      done: "Close it",
      snapTo: outlines(),
      finish: (drawn) => put(withPart(parts.value, drawn)),
    });
  };
  const cutOut = () => {
    const gl = inSight();
    if (!gl) return;
    startHand(gl, "polygon", {
      says: "Ground within the field that does not belong to it.",
      done: "Cut it out",
      finish: (drawn) => {
        const next = withCutOut(parts.value, drawn);
        if (next) put(next);
        else wrong.value = {code: "bench/cut-out-elsewhere", message: "What was drawn lies outside the field."};
      },
    });
  };
  const changeCorners = () => {
    const gl = inSight();
    if (!gl) return;
    sheet.current?.show(undefined);
    startHand(gl, "edit", {
      says: "The edge of the field and of what is cut out of it.",
      done: "Done",
      geometry: multiPolygon(parts.value),
      snapTo: outlines(),
      finish: ({coordinates}) => put(coordinates),
      cancel: () => sheet.current?.show(multiPolygon(parts.value)),
    });
  };
  useEffect(() => {
    let gone = false;
    void blankSheet(container.current as HTMLElement, outlines()).then((made) => {
      if (gone) return made.gl.remove();
      sheet.current = made;
      const measure = () => {
        scale.value = metresPerPixel(made.gl);
      };
      made.gl.on("zoom", measure);
      measure();
      drawPart();
    });
    return () => {
      gone = true;
      sheet.current?.gl.remove();
    };
  }, []);
  const drawn = parts.value.length > 0;
  return (
    <>
      <div class="row">
        <h2>Draw a boundary</h2>
        <span class="spacer" />
        <button type="button" class="plain" onClick={leave}>
          leave it
        </button>
      </div>
      <GoThere go={(center) => sheet.current?.gl.jumpTo({center: [...center], zoom: 15})} />
      {atHand.value ? (
        <HandBar hand={atHand.value} />
      ) : (
        <div class="row">
          <button type="button" onClick={drawPart}>
            {drawn ? "Add a part" : "Draw the edge"}
          </button>
          {drawn && (
            <>
              <button type="button" onClick={cutOut}>
                Cut out ground
              </button>
              <button type="button" onClick={changeCorners}>
                Change corners
              </button>
              <button
                type="button"
                onClick={() => {
                  lay(before.value.at(-1) ?? []);
                  before.value = before.value.slice(0, -1);
                }}
              >
                Take back
              </button>
            </>
          )}
        </div>
      )}
      {wrong.value && <Problem problem={wrong.value} />}
      <div class="plate" key="sheet">
        <div class="gl" ref={container} />
        <div class="under">
          <ScaleBar metresPerPixel={scale.value} />
          <NorthArrow />
        </div>
      </div>
      {drawn && (
        <>
          <p class="small soft" role="status">
            {sayParts(parts.value)}. {card.value?.lines.find((line) => / ac\b/.test(line))}
          </p>
          <IssueList issues={card.value?.issues ?? []} />
          <NameField
            name=""
            source={async () => {
              atHand.peek()?.finish();
              return card.peek()?.id ?? (await upload(fileOf(parts.peek()))).id;
            }}
            made={made}
            refused={changeCorners}
          />
        </>
      )}
    </>
  );
}

/** The fields of the book: to draw beside, and to draw corners to. */
const outlines = () => (fields.peek() ?? []).map(({outline}) => multiPolygon(outline as unknown as Parts));

function fileOf(parts: Parts): File {
  const boundary = {type: "Feature", properties: {drawn: "boundary"}, geometry: multiPolygon(parts)};
  return new File([JSON.stringify(boundary)], "boundary drawn.geojson", {type: "application/geo+json"});
}
