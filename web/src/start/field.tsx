import { useId } from "preact/hooks";

interface FieldProps {
  label: string;
  value: string;
  onValue: (text: string) => void;
  problem?: string | undefined;
  placeholder?: string;
}

/** A value with its unit. */
export function Field({ label, value, onValue, problem, placeholder = "" }: FieldProps) {
  const id = useId();
  return (
    <span class="named-field">
      <label for={id}>{label}</label>
      <input
        id={id}
        class="field"
        value={value}
        placeholder={placeholder}
        autoComplete="off"
        aria-invalid={problem !== undefined}
        {...(problem === undefined ? {} : { "aria-describedby": `${id}-problem` })}
        onInput={(event) => onValue(event.currentTarget.value)}
      />
      {problem !== undefined && (
        <span id={`${id}-problem`} class="bad">
          {problem}
        </span>
      )}
    </span>
  );
}

