import {useSignal} from "@preact/signals";
import {useEffect, useId} from "preact/hooks";
import {api, got, problemOf} from "../api/client.ts";
import type {ApiProblem, ResultCard, SamplingFileCard, Strategy} from "../api/types.ts";
import {size} from "../files/files-panel.tsx";
import {NAMES} from "../map/scenes.ts";
import {Problem} from "../parts/problem.tsx";
import {FileLink, sizeOfZip} from "./file-link.tsx";
import {whatOf} from "./for-whom.ts";

type Paper = "letter" | "a4";

interface Props {
  readonly made: ResultCard;
  /** Why nothing may be taken; absent: it may. */
  readonly closed: string | undefined;
}

/** What the crew carries and what the lab gets, plan by plan. It says where to sample, not what to spread: no caution. */
export function SamplingPapers({made: {id, strategies}, closed}: Props) {
  const select = useId();
  const paper = useSignal<Paper>("letter");
  const found = useSignal<Found>({});
  const asked = `${id} ${paper.value}`;
  useEffect(() => {
    let waits = true;
    const show = (next: Found) => {
      if (waits) found.value = next;
    };
    got(api.results[":id"].sampling.$get({param: {id}, query: {paper: paper.value}})).then(
      (files) => show({of: asked, files}),
      (error: unknown) => show({of: asked, problem: problemOf(error)}),
    );
    return () => {
      waits = false;
    };
  }, [asked]);
  const {files, problem} = found.value.of === asked ? found.value : {};
  const links = {id, paper: paper.value, closed};
  return (
    <fieldset id="sheets" tabIndex={-1}>
      <legend>For the sampler and the lab</legend>
      <div class="setting">
        <label for={select}>Paper of sheets and labels</label>
        <select
          id={select}
          value={paper.value}
          onChange={({currentTarget}) => {
            paper.value = currentTarget.value as Paper;
          }}
        >
          <option value="letter">letter</option>
          <option value="a4">A4</option>
        </select>
      </div>
      {closed && <p class="note">{closed}</p>}
      {problem && <Problem problem={problem} />}
      {!files && !problem && <p class="soft">Sheets and labels are being made…</p>}
      {files && (
        <>
          {strategies.map(({strategy}) => (
            <OfPlan key={strategy} strategy={strategy} files={files} {...links} />
          ))}
          <More files={files.filter(({strategy}) => !strategy)} title="Beside the plans" {...links} />
          <Zip files={files} of="all" name="Everything for the sampler as one zip" {...links} />
        </>
      )}
    </fieldset>
  );
}

interface Found {
  /** What was asked for. */
  readonly of?: string;
  readonly files?: readonly SamplingFileCard[];
  readonly problem?: ApiProblem;
}

interface Links {
  /** Of the result. */
  readonly id: string;
  readonly paper: Paper;
  readonly closed: string | undefined;
}

interface Listed extends Links {
  readonly files: readonly SamplingFileCard[];
}

/** What people ask for by name; the rest is for other programs. */
const FIRST: readonly (readonly [RegExp, string])[] = [
  [/-sheet\.html$/, "Sheet"],
  [/-labels\.html$/, "Labels"],
  [/\.gpx$/, "GPX"],
  [/\.kml$/, "KML"],
  [/-submittal\.csv$/, "List for the lab"],
];

function OfPlan({strategy, files, ...links}: Listed & {readonly strategy: Strategy}) {
  const mine = files.filter((file) => file.strategy === strategy);
  const first = FIRST.flatMap(([pattern, called]) => {
    const file = mine.find(({name}) => pattern.test(name));
    return file ? [{file, called}] : [];
  });
  return (
    <div class="rows-of">
      <h3>{NAMES[strategy]}</h3>
      <ul class="list papers">
        {first.map(({file, called}) => (
          <File key={file.name} file={file} called={called} plan={NAMES[strategy]} {...links} />
        ))}
      </ul>
      <More
        files={mine.filter((file) => !first.some((one) => one.file === file))}
        title="As tables and shapes"
        {...links}
      />
      <Zip files={mine} of={strategy} name={`${NAMES[strategy]}, all as a zip`} {...links} />
    </div>
  );
}

function More({files, title, ...links}: Listed & {readonly title: string}) {
  if (files.length === 0) return null;
  return (
    <details>
      <summary>
        {title} ({files.length})
      </summary>
      <ul class="list papers">
        {files.map((file) => (
          <File key={file.name} file={file} called={file.name} {...links} />
        ))}
      </ul>
    </details>
  );
}

interface FileProps extends Links {
  readonly file: SamplingFileCard;
  readonly called: string;
  readonly plan?: string;
}

function File({file: {name, bytes}, called, plan, id, paper, closed}: FileProps) {
  const printed = name.endsWith(".html");
  const href = api.results[":id"].sampling[":name"].$path({param: {id, name}, query: {paper}});
  return (
    <li>
      <FileLink href={href} download={printed ? undefined : name} closed={closed !== undefined} about={size(bytes)}>
        {called}
        {plan && <span class="unseen"> for {plan}</span>}
        {printed && <span class="unseen"> (opens in a new tab to be printed)</span>}
      </FileLink>
      <p class="small soft">
        {whatOf(name)}
        {printed && "; opens to print"}
      </p>
    </li>
  );
}

function Zip({files, of, name, id, paper, closed}: Listed & {readonly of: "all" | Strategy; readonly name: string}) {
  return (
    <FileLink
      href={api.results[":id"]["sampling.zip"].$path({param: {id}, query: {paper, of}})}
      download
      closed={closed !== undefined}
      about={sizeOfZip(files)}
    >
      {name}
    </FileLink>
  );
}
