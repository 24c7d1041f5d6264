// What of the vendored idb.js is used.
export function openDB(
  name: string,
  version: number,
  how: { upgrade(db: any): void },
): Promise<any>;
