// A place for files: dropped or chosen.
import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";

export function Drop({ accept, words, onFile, children, busy = false }: { accept: string; words: string; onFile: (file: File) => void; children?: ComponentChildren; busy?: boolean }) {
  const [over, setOver] = useState(false);
  return (
    <div
      class={over ? "drop over" : "drop"}
      onDragOver={(event) => {
        event.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={(event) => {
        event.preventDefault();
        setOver(false);
        const file = event.dataTransfer?.files[0];
        if (file !== undefined && !busy) onFile(file);
      }}
    >
      <label class="drop-label">
        <span>{words} </span>
        <input
          type="file"
          accept={accept}
          disabled={busy}
          onChange={(event) => {
            const file = event.currentTarget.files?.[0];
            if (file !== undefined) onFile(file);
            event.currentTarget.value = "";
          }}
        />
      </label>
      {children}
    </div>
  );
}
