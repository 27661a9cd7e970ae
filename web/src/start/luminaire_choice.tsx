// Luminaire types by tag and picture.
import type { Library, StartLuminaire } from "../api/contract";

interface LuminaireChoiceProps {
  library: Library;
  /** Types of the document. */
  own: readonly { id: string; tag: string; name: string }[];
  usual: string;
  /** Empty: the usual one. */
  chosen: string;
  onChoose: (id: string) => void;
}

export function LuminaireChoice({ library, own, usual, chosen, onChoose }: LuminaireChoiceProps) {
  const isKnown = (id: string) => library.luminaire_types.some((t) => t.id === id);
  const offered = library.luminaire_types.filter((t) => !t.existing);
  return (
    <fieldset class="luminaires">
      <legend>luminaire</legend>
      <div class="luminaire-list">
        {own
          .filter((t) => !isKnown(t.id) && !/-[0-9]+w$/.test(t.id))
          .map((t) => (
            <label key={t.id} class="luminaire">
              <input type="radio" name="luminaire" checked={chosen === t.id} onChange={() => onChoose(t.id)} />
              <span class="tag">{t.tag || t.id}</span>
              <span>{t.name || t.id}</span>
            </label>
          ))}
        {offered.map((t) => (
          <label key={t.id} class="luminaire">
            <input type="radio" name="luminaire" checked={(chosen || usual) === t.id} onChange={() => onChoose(t.id)} />
            <LuminairePicture type={t} />
            <span class="tag">{t.tag}</span>
            <span>
              {t.name}
              {t.id === usual && <span class="soft"> (usual here)</span>}{" "}
              <span class="soft">
                {t.lumens} lm, {t.input_w} W
              </span>
            </span>
          </label>
        ))}
      </div>
    </fieldset>
  );
}

/** From below, to scale among themselves. */
export function LuminairePicture({ type }: { type: StartLuminaire }) {
  const px = (m: number) => Math.max(3, m * 22);
  return (
    <svg class="luminaire-picture" width="38" height="18" aria-hidden="true">
      {type.shape === "circle" ? (
        <circle cx="19" cy="9" r={px(type.length_m) / 2} />
      ) : (
        <rect x={19 - px(type.length_m) / 2} y={9 - px(type.width_m) / 2} width={px(type.length_m)} height={px(type.width_m)} />
      )}
    </svg>
  );
}
