// Hand files over: by the share sheet where the phone has one, else as downloads.

function fileOf(name, text, other = "text/plain") {
  return new File([text], name, { type: name.endsWith(".csv") ? "text/csv" : other });
}

/** The files as the share sheet takes them: it may know no .toml, which then goes as .toml.txt. */
function shareable(files) {
  const plain = Object.entries(files).map(([name, text]) => fileOf(name, text));
  const renamed = Object.entries(files).map(([name, text]) =>
    fileOf(/\.(csv|txt)$/.test(name) ? name : `${name}.txt`, text),
  );
  return [plain, renamed].find((list) => navigator.canShare?.({ files: list }));
}

export function canShare() {
  return Boolean(shareable({ "a.csv": "a", "b.toml": "b" }));
}

/** Share texts by file name: the names under which they went, [] if they did not. */
export async function share(files) {
  const list = shareable(files) ?? [];
  try {
    await navigator.share({ files: list });
    return list.map((file) => file.name);
  } catch {
    return []; // called off, or refused
  }
}

export function download(name, text) {
  const address = URL.createObjectURL(fileOf(name, text, "application/octet-stream"));
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}
