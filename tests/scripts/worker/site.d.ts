// The list that is written beside the service worker.
declare const SITE: { version: string; files: string[] };
