// The link with the server. An edit has a serial number; an answer to an older edit is dropped.

const page = crypto.randomUUID();
let serial = 0;
let closed = false;

export async function fetched(address) {
  const answer = await fetch(address, { credentials: "same-origin" });
  return body(answer);
}

export async function sent(address, content = {}) {
  const answer = await fetch(address, {
    method: "POST",
    credentials: "same-origin",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ page, ...content }),
  });
  return body(answer);
}

async function body(answer) {
  let content = null;
  try {
    content = await answer.json();
  } catch {
    content = {
      faults: [
        {
          code: "",
          place: "",
          path: "",
          found: "no answer from the program",
          remedy: "look at the window in which it runs",
        },
      ],
    };
  }
  return { fine: answer.ok, status: answer.status, ...content };
}

// Sends edits; gives null when a newer edit was sent meanwhile.
// has: marks of the answers that the page has; day: that it shows.
export async function edited(edits, trying, has, day) {
  serial += 1;
  const mine = serial;
  const answer = await sent("/api/edits", { serial: mine, edits, try: trying, has, day });
  return mine === serial ? answer : null;
}

export function listen(handlers) {
  const events = new EventSource("/api/events");
  for (const [name, handle] of Object.entries(handlers)) {
    events.addEventListener(name, (event) => handle(JSON.parse(event.data || "{}")));
  }
  events.onerror = () => {
    if (!closed) handlers.lost();
    closed = true;
  };
  events.onopen = () => {
    if (closed) handlers.found();
    closed = false;
  };
}
