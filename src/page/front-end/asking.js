// Questions to the program: at most one on its way and the newest one waiting; what came between is dropped.

const PATIENCE_MS = 20000;

/** What the program refuses, in its words. */
export class Refused extends Error {}
/** No answer at all. */
export class Gone extends Error {}

export async function post(path, body, patienceMs = PATIENCE_MS, signal = null) {
  const signals = [AbortSignal.timeout(patienceMs)];
  if (signal !== null) signals.push(signal);
  let response;
  try {
    response = await fetch(path, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify(body),
      signal: AbortSignal.any(signals),
    });
  } catch (error) {
    if (signal !== null && signal.aborted) throw error;
    throw new Gone("The program has ended or does not answer: start it again, and open the address that it prints.");
  }
  if (response.status === 404 || response.status === 403) {
    throw new Gone("The program was started anew: open the address that it printed.");
  }
  let answer;
  try {
    answer = await response.json();
  } catch {
    throw new Gone("The program's answer broke off: is it still running?");
  }
  if (!response.ok) throw new Refused(answer.error.message);
  return answer;
}

export class Asker {
  #path;
  #take;
  #fail;
  #waiting = null;
  #isAsking = false;

  /** take(answer) gets what is newer than what was taken before, fail(error) what went wrong. */
  constructor(path, take, fail) {
    this.#path = path;
    this.#take = take;
    this.#fail = fail;
  }

  ask(question) {
    this.#waiting = question;
    if (!this.#isAsking) this.#next();
  }

  async #next() {
    this.#isAsking = true;
    while (this.#waiting !== null) {
      const question = this.#waiting;
      this.#waiting = null;
      try {
        const answer = await post(this.#path, question);
        this.#take(answer);
      } catch (error) {
        // What was wrong with an older question does not matter any more.
        if (this.#waiting === null || error instanceof Gone) this.#fail(error, question);
      }
    }
    this.#isAsking = false;
  }
}
