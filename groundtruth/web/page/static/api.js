// Asking the server: with the secret of this start, which stands in the address behind the #.

const secret = location.hash.slice(1);

/** What went wrong, with its place where the server knows it. */
export class Refused extends Error {
  /** @param {number} status @param {any} said */
  constructor(status, said) {
    super((said && said.text) || String(status));
    this.status = status;
    this.said = said || {};
  }
}

/** @param {string} path @param {RequestInit & {headers?: Record<string, string>}} how */
async function asked(path, how) {
  let answer;
  try {
    answer = await fetch(path, {
      method: "POST",
      credentials: "omit",
      cache: "no-store",
      ...how,
      headers: {
        Authorization: `Bearer ${secret}`,
        "Accept-Language": document.documentElement.lang || "en",
        ...how.headers,
      },
    });
  } catch {
    throw new Refused(0, { text: "" });
  }
  const said = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Refused(answer.status, said.error);
  return said;
}

/** @param {string} name @param {object} [body] @param {boolean} [leaving] */
export function ask(name, body = {}, leaving = false) {
  const text = JSON.stringify(body);
  const keepalive = leaving && text.length < 60000;
  return asked(`/api/${name}`, { body: text, keepalive, headers: { "Content-Type": "application/json" } });
}

/** @param {File} file @param {string} [use] what it is for, where it is no track and no sheet */
export function send(file, use = "") {
  return asked("/api/file", {
    body: file,
    headers: { "Content-Type": "application/octet-stream", "X-File-Name": encodeURIComponent(file.name), "X-File-Use": use },
  });
}
