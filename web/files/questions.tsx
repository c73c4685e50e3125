import type {Signal} from "@preact/signals";
import type {SourceCard} from "../api/types.ts";

interface Props {
  /** Tells the questions of one file from those of another. */
  readonly name: string;
  readonly questions: NonNullable<SourceCard["questions"]>;
  readonly answers: Signal<readonly string[]>;
}

/** What the file leaves open; the program does not guess. */
export function Questions({name, questions, answers}: Props) {
  if (questions.length === 0) return null;
  return (
    <fieldset>
      <legend>The file does not say</legend>
      {questions.map(({message, choices}, i) => (
        <div class="setting tall" key={message}>
          <label for={`question-${name}-${i}`}>{message}</label>
          {choices.length > 0 ? (
            <select
              id={`question-${name}-${i}`}
              value={answers.value[i] ?? ""}
              onChange={({currentTarget}) => {
                answers.value = Object.assign([...answers.value], {[i]: currentTarget.value});
              }}
            >
              <option value="">not answered</option>
              {choices.map((choice) => (
                <option key={choice}>{choice}</option>
              ))}
            </select>
          ) : (
            <input
              id={`question-${name}-${i}`}
              type="text"
              value={answers.value[i] ?? ""}
              onChange={({currentTarget}) => {
                answers.value = Object.assign([...answers.value], {[i]: currentTarget.value});
              }}
            />
          )}
        </div>
      ))}
    </fieldset>
  );
}
