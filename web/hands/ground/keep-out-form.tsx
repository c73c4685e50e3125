import {hasDistance} from "../../files/mapping.ts";
import {CheckField, type FormProps, GroundForm, KindField, TextField, written} from "./ground-form.tsx";

const KINDS = ["gravel road", "waterway", "old farmstead", "manure stack", "tile inlet"];

const NO_DISTANCE = {
  code: "bench/no-distance",
  message: "It is not said how far cores keep from it.",
  hint: 'Write a distance, as in "50 ft" ("0 ft" for an area as drawn), or choose a kind that has a usual one.',
};

/** Kind, name and distance of ground where no core is taken. */
export function KeepOutForm(props: FormProps) {
  const {kind, name, distance, cross} = props.settings;
  return (
    <GroundForm
      {...props}
      save={async (settings) => (hasDistance(settings) ? props.save(settings) : NO_DISTANCE)}
      label="Keep-out"
      entryOf={(filled) => ({
        kind: written(filled, "kind"),
        name: written(filled, "name"),
        distance: written(filled, "distance"),
        cross: filled.has("cross") ? undefined : false,
      })}
    >
      <KindField label="Kind" kinds={KINDS} value={kind} another />
      <TextField label="Name" name="name" value={name} placeholder="by its kind" />
      <TextField
        label="Distance cores keep"
        name="distance"
        value={distance}
        placeholder="usual for its kind"
        hint={`As "50 ft"; "0 ft" for an area as drawn. Without one, the usual distance of the kind is taken and told among the remarks.`}
      />
      <CheckField label="The crew's way may cross it" name="cross" checked={cross !== false} />
    </GroundForm>
  );
}
