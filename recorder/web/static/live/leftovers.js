// Sound of other jobs that this device has not yet sent: a page was closed while it had no link.

import { Link } from "./link.js";
import { Sender } from "./sender.js";

const FOR_MS = 60000; // then the next page goes on
const silent = () => {};

/** job: the one of this page, which sends its own. */
export async function sendLeftovers(store, job, key, seal) {
  const jobs = new Set((await store.stretches()).map((stretch) => stretch.job));
  jobs.delete(job);
  for (const other of jobs) send(other, store, key, seal);
}

function send(job, store, key, seal) {
  const sender = new Sender(job, store, { saved: silent, unsent: silent, trouble: silent, broken: silent });
  const link = new Link(`/live/${job}`, key, seal, {
    opened: () => sender.opened(),
    closed: () => sender.closed(),
    told: (message) => ["ack", "again", "over"].includes(message.do) && sender.told(message),
  });
  sender.begin(link);
  setTimeout(() => {
    link.stop();
    sender.stop();
  }, FOR_MS);
}
