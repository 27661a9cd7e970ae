// The library's offer, asked for once.
import type { Library } from "../api/contract";
import { useResource } from "../app/resource";
import { api } from "../app/service";

let asked: Promise<Library> | null = null;

export function useLibrary(): Library | null {
  const { value } = useResource("library", "library", () => {
    asked ??= api.library().catch((error: unknown) => {
      asked = null;
      throw error;
    });
    return asked;
  });
  return value;
}
