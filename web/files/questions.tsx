import type {Signal} from "@preact/signals";
import type {SourceCard} from "../api/types.ts";

interface Props {
  /** Tells the questions of one file from those of another. */
  readonly name: string;
  readonly questions: NonNullable<SourceCard["questions"]>;
  readonly answers: Signal<readonly string[]>;
  /** The file after which they were answered; empty where by none. */
  readonly like: string;
  /** Whether it was said another way. */
  readonly isSettled: (question: NonNullable<SourceCard["questions"]>[number]) => boolean;
}

/** What the file leaves open; the program does not guess. */
export function Questions({name, questions, answers, like, isSettled}: Props) {
  const open = questions.filter((one, i) => answers.value[i] || !isSettled(one));
  const after = like === "" ? null : <p>Answered as in {like}, which has the same headings.</p>;
  if (open.length === 0) return after;
  return (
    <fieldset>
      <legend>The file does not say</legend>
      {after}
      {questions.map((question, i) => {
        if (!open.includes(question)) return null;
        const {message, choices} = question;
        const answer = answers.value[i] ?? "";
        return (
          <div class="setting tall" key={message}>
            <label for={`question-${name}-${i}`}>{message}</label>
            {choices.length > 0 ? (
              <select
                id={`question-${name}-${i}`}
                value={answer}
                onChange={({currentTarget}) => {
                  answers.value = Object.assign([...answers.value], {[i]: currentTarget.value});
                }}
              >
                <option value="">not answered</option>
                {answer !== "" && !choices.includes(answer) && <option>{answer}</option>}
                {choices.map((choice) => (
                  <option key={choice}>{choice}</option>
                ))}
              </select>
            ) : (
              <input
                id={`question-${name}-${i}`}
                type="text"
                value={answer}
                onChange={({currentTarget}) => {
                  answers.value = Object.assign([...answers.value], {[i]: currentTarget.value});
                }}
              />
            )}
          </div>
        );
      })}
    </fieldset>
  );
}
