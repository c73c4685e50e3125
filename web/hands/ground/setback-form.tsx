import {useSignal} from "@preact/signals";
import {page} from "../../state/field.ts";
import {read} from "../../stations/job-path.ts";
import {CheckField, type FormProps, GroundForm, KindField, TextField, written} from "./ground-form.tsx";

const KINDS = ["ditch", "stream", "surface inlet", "well", "other"];
type Going = "zero" | "share" | "rate";

const NO_DISTANCE = {
  code: "bench/no-distance",
  message: "A setback needs its distance.",
  hint: 'Write it as in "35 ft" ("0 ft" for an area as drawn). Local code says how wide it is.',
};

/** What it is, how wide, and what may go on it: nothing of it is built in. */
export function SetbackForm(props: FormProps) {
  const {kind = "ditch", name, distance, rate, products, on} = props.settings;
  const share = typeof rate === "object" && rate !== null ? (rate as {share?: number}).share : undefined;
  const going = useSignal<Going>(
    share !== undefined ? "share" : rate === undefined || rate === "zero" ? "zero" : "rate",
  );
  const known = productsInJob();
  const asked = Array.isArray(products) ? (products as readonly string[]) : known;
  return (
    <GroundForm
      {...props}
      save={async (settings) => (settings.distance === "" ? NO_DISTANCE : props.save(settings))}
      label="Setback"
      entryOf={(filled) => {
        const named = known.filter((one) => filled.getAll("products").includes(one));
        return {
          name: written(filled, "name") ?? written(filled, "kind"),
          kind: written(filled, "kind"),
          distance: written(filled, "distance") ?? "",
          rate: rateOf(going.value, written(filled, "amount") ?? ""),
          products: named.length === 0 || named.length === known.length ? undefined : named,
          on: filled.has("on") ? undefined : false,
        };
      }}
    >
      <KindField label="What it is" kinds={KINDS} value={kind} />
      <TextField label="Name" name="name" value={name} placeholder="by what it is" />
      <TextField
        label="Distance"
        name="distance"
        value={distance}
        placeholder="from local code"
        hint={`As "35 ft"; "0 ft" for an area as drawn.`}
      />
      <label class="setting">
        What goes on there
        <select
          value={going.value}
          onChange={({currentTarget}) => {
            going.value = currentTarget.value as Going;
          }}
        >
          <option value="zero">nothing</option>
          <option value="share">a share of the rate</option>
          <option value="rate">at most a rate</option>
        </select>
      </label>
      {going.value === "share" && (
        <TextField
          label="Share, percent"
          name="amount"
          value={share === undefined ? undefined : 100 * share}
          placeholder="50"
          required
        />
      )}
      {going.value === "rate" && (
        <TextField
          label="Most product there"
          name="amount"
          value={typeof rate === "string" && rate !== "zero" ? rate : undefined}
          placeholder="50 lb/ac"
          required
        />
      )}
      {known.length > 1 && (
        <fieldset>
          <legend>It is for</legend>
          {known.map((one) => (
            <CheckField key={one} label={one} name="products" value={one} checked={asked.includes(one)} />
          ))}
        </fieldset>
      )}
      <CheckField label="It is on" name="on" checked={on !== false} />
      <p class="note">
        No kind has a distance or a rate of its own. Check local code: what counts, how wide it is, and what may go on
        it. A licensed or certified adviser signs.
      </p>
    </GroundForm>
  );
}

function rateOf(going: Going, amount: string): unknown {
  if (going === "zero") return "zero";
  return going === "share" ? {share: Number(amount.replace(/%$/, "")) / 100} : amount;
}

/** What a setback may name: the products of the job, and lime where it is spread. */
function productsInJob(): string[] {
  const job = page.value?.job;
  const products = (read(job, ["products"]) as readonly {analysis?: string}[] | undefined) ?? [];
  const names = products.flatMap(({analysis}) => (analysis === undefined ? [] : [analysis]));
  return [...new Set(names), ...(read(job, ["machine", "lime"]) === undefined ? [] : ["lime"])];
}
