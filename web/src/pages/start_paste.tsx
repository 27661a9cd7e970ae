export function PastePage({ project }: { project: string }) {
  return <p>{project}</p>;
}
