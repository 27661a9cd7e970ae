// Files that somebody drops or chooses.
import type { FileAnswer } from "../api/contract";
import { api } from "../app/service";

export async function base64Of(file: Blob): Promise<string> {
  const bytes = new Uint8Array(await file.arrayBuffer());
  let text = "";
  // In pieces, because one call takes only so many arguments.
  for (let i = 0; i < bytes.length; i += 0x8000) text += String.fromCharCode(...bytes.subarray(i, i + 0x8000));
  return btoa(text);
}

/** A file's name as a path of the project: no folders, no marks that paths give another meaning. */
export const pathOf = (folder: string, name: string): string => `${folder}/${name.replace(/[\\/\u0000-\u001f\u007f]/g, "-").slice(-120)}`;

export async function keep(project: string, folder: string, file: File): Promise<FileAnswer> {
  return api.putFile(project, pathOf(folder, file.name), await base64Of(file));
}
