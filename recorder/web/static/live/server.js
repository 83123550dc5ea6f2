// What this page asks of the server besides the sound: with the seal, and with errors in words.

const content = (name) => document.querySelector(`meta[name="${name}"]`).content;

export const job = content("job");
export const seal = content("seal");
export const address = `/live/${job}`;
export const began_ms = Number(content("now"));

/** refused: the server understood and said no; otherwise it was not reached. */
class Failed extends Error {
  constructor(message, refused) {
    super(message);
    this.refused = refused;
  }
}

export async function post(path, body, type) {
  let answer;
  try {
    answer = await fetch(`${address}/${path}`, {
      method: "POST",
      body,
      headers: { "x-seamnote-seal": seal, "content-type": type, accept: "application/json" },
      redirect: "error",
    });
  } catch {
    throw new Failed("There is no link to the recorder. Try again when it is back.", false);
  }
  const told = await answer.json().catch(() => ({}));
  if (answer.ok) return told;
  const { error = "the recorder did not take it", remedy = "try again" } = told;
  throw new Failed(`${error[0].toUpperCase()}${error.slice(1)}: ${remedy}.`, answer.status < 500);
}

export function act(what) {
  return post("act", JSON.stringify(what), "application/json");
}
