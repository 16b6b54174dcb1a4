// What a phone does beside the pages: it says how a figure stands while it is typed, and keeps visits while there is no signal.
// Every page works without it. How a reading stands is the server's to say; without signal the figures that the server wrote into
// the form are compared with what was typed, no more.
"use strict";
(() => {
  const body = document.body;
  const root = body.dataset.root || "";
  const outbox = document.getElementById("outbox");
  const form = document.querySelector("form.visit");
  const name = "ventdue " + root;
  const able = isSecureContext && "indexedDB" in self && "serviceWorker" in navigator && "caches" in self && !!navigator.locks;
  const pixels = 2000; // of the longer edge of a photo that is kept
  const every = 20000; // ms between tries

  // Small tools.
  const wait = (ms) => new Promise((done) => setTimeout(done, ms));
  const fill = (text, values) => text.replace(/\{(\w+)\}/g, (all, key) => (key in values ? values[key] : all));
  const element = (tag, text, more) => Object.assign(document.createElement(tag), { textContent: text }, more);

  // Whose device it is now. A page that is nobody's, or was kept, says nothing about that.
  function reader() {
    const stored = localStorage.getItem(name);
    const said = body.dataset.mark;
    if (said === undefined || said === "?" || body.dataset.asof) return stored || "";
    if (stored && stored !== said) caches.delete(name + " pages");
    localStorage.setItem(name, said);
    return said;
  }

  // How figures stand.
  function show(input, text, standing) {
    const out = document.getElementById(input.id + "-verdict");
    if (out.value === text) return;
    out.value = text;
    out.className = "verdict " + (standing ? "is-" + standing : "");
  }

  // compare holds a figure against what the server wrote into the chosen unit.
  function compare(input) {
    const unit = document.getElementById(input.id + "_unit").selectedOptions[0];
    const typed = input.value.trim().replace(",", ".");
    const value = Number(typed), limit = Number(unit.dataset.limit), clean = Number(unit.dataset.clean);
    if (!typed || !Number.isFinite(value) || !unit.dataset.limit) return show(input, "", "");
    const speed = input.dataset.quantity === "air_speed";
    const past = speed ? value < limit : value > limit;
    const text = form.dataset[(past ? "past" : "open") + (speed ? "" : "Plain")];
    show(input, fill(text, { share: Math.round((100 * value) / clean) + "\u00a0%" }), past ? "past" : "open");
  }

  function watch() {
    const inputs = [...form.querySelectorAll("[data-quantity]")];
    let turn = 0;
    const judge = async () => {
      const mine = ++turn;
      await wait(300);
      if (mine !== turn) return;
      if (!inputs.some((i) => i.value.trim())) return inputs.forEach((i) => show(i, "", ""));
      try {
        const fields = [...new FormData(form)].filter(([, v]) => typeof v === "string");
        const answer = await fetch(form.dataset.judge, { method: "POST", body: new URLSearchParams(fields), redirect: "manual", signal: AbortSignal.timeout(4000) });
        if (!answer.ok) throw new Error("not judged");
        const said = await answer.json();
        if (mine !== turn) return;
        for (const i of inputs) show(i, said[i.name] ? said[i.name].text : "", said[i.name] ? said[i.name].standing : "");
      } catch {
        if (mine === turn) inputs.forEach(compare);
      }
    };
    form.addEventListener("input", judge);
    form.addEventListener("change", judge);
    judge();
  }

  // The store of the device: visits that wait, and for a while those that were sent.
  const store = (() => {
    let open;
    const base = () => (open ||= new Promise((yes, no) => {
      const r = indexedDB.open(name, 1);
      r.onupgradeneeded = () => {
        r.result.createObjectStore("visits", { keyPath: "id" });
        r.result.createObjectStore("sent", { keyPath: "id" });
      };
      r.onsuccess = () => yes(r.result);
      r.onerror = () => no(r.error);
    }));
    const run = async (mode, work) => {
      const tx = (await base()).transaction(["visits", "sent"], mode);
      const asked = work(tx);
      return new Promise((yes, no) => {
        tx.oncomplete = () => yes(asked && asked.result);
        tx.onabort = () => no(tx.error);
      });
    };
    return {
      all: async (kind) => (await run("readonly", (tx) => tx.objectStore(kind).getAll())).sort((a, b) => a.at - b.at),
      get: (kind, id) => run("readonly", (tx) => tx.objectStore(kind).get(id)),
      put: (visit) => run("readwrite", (tx) => tx.objectStore("visits").put(visit)),
      drop: (kind, id) => run("readwrite", (tx) => tx.objectStore(kind).delete(id)),
      // done moves a visit to those that were sent, in one go.
      done: (visit, place) => run("readwrite", (tx) => {
        tx.objectStore("visits").delete(visit.id);
        tx.objectStore("sent").put({ id: visit.id, at: Date.now(), where: visit.where, mark: visit.mark, place });
      }),
    };
  })();

  // A photo goes into the store no larger than it is of use; what the browser cannot read is kept as it is.
  async function smaller(file) {
    try {
      const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
      const scale = Math.min(1, pixels / Math.max(picture.width, picture.height));
      if (scale === 1 && file.size < 500000) return { name: file.name, blob: file };
      const canvas = Object.assign(document.createElement("canvas"), { width: Math.round(picture.width * scale), height: Math.round(picture.height * scale) });
      canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
      picture.close();
      const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
      if (blob && blob.size < file.size) return { name: file.name.replace(/\.\w+$/, "") + ".jpg", blob };
    } catch { /* as it is */ }
    return { name: file.name, blob: file };
  }

  // written gives what the form says, on top of a visit that was kept before. The key is for one wording of it.
  async function written(before) {
    const data = [...new FormData(form)];
    const files = data.filter(([, v]) => typeof v !== "string" && v.name && v.size).map(([, v]) => v);
    return {
      id: before ? before.id : crypto.randomUUID(), at: before ? before.at : Date.now(), once: crypto.randomUUID(),
      mark: whose, who: body.dataset.name || "", where: form.dataset.place, send: form.dataset.send, state: "waiting",
      fields: data.filter(([k, v]) => typeof v === "string" && k !== "from"),
      photos: [...(before ? before.photos : []), ...(await Promise.all(files.map(smaller)))],
    };
  }

  // Sending: in the order of the work, by one tab at a time.
  const sendAll = () => navigator.locks.request(name + " outbox", async () => {
    for (const visit of await store.all("visits")) {
      if (visit.mark !== whose || visit.state === "refused") continue;
      if (!(await send(visit))) break;
    }
    const sent = await store.all("sent");
    for (const old of sent.filter((s) => Date.now() - s.at > 86400000)) await store.drop("sent", old.id);
  }).finally(told);

  const post = (to, ms, request) => fetch(to, { method: "POST", redirect: "manual", signal: AbortSignal.timeout(ms), ...request });

  // send gives false where there is no use in trying the next one.
  async function send(visit) {
    try {
      for (const p of visit.photos) {
        if (p.sum) continue;
        const answer = await post(root + "/api/photos?name=" + encodeURIComponent(p.name), 180000, { body: p.blob });
        if (!answer.ok) return await refused(visit, answer);
        const kept = await answer.json();
        p.sum = kept.sha256;
        p.name = kept.name || p.name;
        await store.put(visit);
      }
      const fields = new URLSearchParams(visit.fields);
      for (const p of visit.photos) fields.append("photo", p.sum + "/" + p.name);
      const answer = await post(visit.send, 60000, { body: fields, headers: { "Idempotency-Key": visit.once, "Ventdue-Who": visit.mark } });
      if (!answer.ok) return await refused(visit, answer);
      await store.done(visit, (await answer.json()).place);
      return true;
    } catch {
      return false; // no signal, or somebody between who is not ours: it waits
    }
  }

  async function refused(visit, answer) {
    let said = {};
    try { said = await answer.json(); } catch { /* no words of ours */ }
    if (answer.type === "opaqueredirect" || answer.status === 401 || said.sign_in) {
      visit.state = "signin";
      await store.put(visit);
      return false;
    }
    if (answer.status >= 500 || answer.status === 429 || answer.status === 408) {
      visit.state = "waiting";
      if (said.again) visit.once = crypto.randomUUID();
      await store.put(visit);
      return false;
    }
    visit.state = "refused";
    visit.problem = said.problem || said.detail || outbox.dataset.refused;
    visit.problems = said.fields || {};
    visit.conflict = said.conflict || "";
    await store.put(visit);
    return true;
  }

  // The form.
  async function taken(e) {
    e.preventDefault();
    const button = form.querySelector(".send button");
    button.disabled = true;
    let visit;
    try {
      visit = await written(editing);
      await store.put(visit);
    } catch {
      form.submit(); // there is no room on the device: the server may take it
      return;
    }
    editing = visit;
    if (navigator.storage && navigator.storage.persist) navigator.storage.persist();
    await sendAll();
    const sent = await store.get("sent", visit.id);
    const left = sent ? null : await store.get("visits", visit.id);
    button.disabled = false;
    if (sent) location.assign(sent.place);
    else if (left && left.state === "refused") again(left);
    else location.assign(root + "/waiting");
  }

  // again shows what is wrong with a visit at the fields of its form.
  function again(visit) {
    editing = visit;
    form.querySelectorAll("[name=photos]").forEach((x) => { x.value = ""; });
    document.querySelectorAll("[data-told]").forEach((x) => x.remove());
    form.querySelectorAll(".bad").forEach((x) => x.classList.remove("bad"));
    const problem = (text) => {
      const p = element("p", text, { className: "problem" });
      p.dataset.told = "";
      return p;
    };
    if (visit.photos.length) form.elements.photos.before(Object.assign(problem(fill(form.dataset.kept, { n: visit.photos.length })), { className: "hint" }));
    if (!visit.problem) return;
    const top = problem(visit.problem);
    top.setAttribute("role", "alert");
    if (visit.conflict) top.append(" ", element("a", body.querySelector("#waiting, form.visit").dataset.standing, { href: visit.conflict }));
    form.before(top);
    for (const [field, text] of Object.entries(visit.problems || {})) {
      const input = form.querySelector(`[name="${CSS.escape(field)}"]`);
      const box = input && input.closest(".field");
      if (!box) { top.append(" ", text); continue; }
      box.classList.add("bad");
      (box.querySelector("legend, label") || input).after(problem(text));
      for (let d = box.closest("details"); d; d = d.parentElement.closest("details")) d.open = true;
    }
    top.scrollIntoView({ block: "center" });
  }

  // restore fills the form with a visit that was kept.
  function restore(visit) {
    for (const x of form.elements) {
      if (!x.name || x.type === "file" || x.type === "hidden") continue;
      const values = visit.fields.filter(([k]) => k === x.name).map(([, v]) => v);
      if (x.type === "radio" || x.type === "checkbox") x.checked = values.includes(x.value);
      else if (values.length) x.value = values[0];
      if (x.checked || (x.tagName === "INPUT" && x.value && x.type !== "radio" && x.type !== "checkbox")) {
        for (let d = x.closest("details"); d; d = d.parentElement.closest("details")) d.open = true;
      }
    }
    // What it corrects, and photos that the server has already, stand in no field of a blank form.
    for (const [name, value] of visit.fields) {
      const there = [...form.elements].some((x) => x.name === name && (name === "corrects" || x.value === value));
      if ((name === "corrects" || name === "photo") && !there) form.append(element("input", "", { type: "hidden", name, value }));
    }
    again(visit);
  }

  // What every page says of the visits that wait, and the page that lists them.
  async function paint() {
    const visits = await store.all("visits");
    outbox.hidden = visits.length === 0;
    outbox.firstElementChild.textContent = visits.length === 1 ? outbox.dataset.single : fill(outbox.dataset.many, { n: visits.length });
    const list = document.getElementById("waiting");
    if (list) await paintList(list, visits);
    const now = document.getElementById("sendnow");
    if (now) now.hidden = !visits.some((v) => v.mark === whose && v.state !== "refused");
    return visits;
  }

  // What did not change stays: somebody may be reading it, or about to press something in it.
  async function paintList(list, visits) {
    const sent = (await store.all("sent")).filter((s) => s.mark === whose);
    const seen = JSON.stringify([visits.map((v) => [v.id, v.once, v.state, v.problem]), sent.map((s) => s.id)]);
    if (list.dataset.seen === seen) return;
    list.dataset.seen = seen;
    list.replaceChildren(...visits.map((v) => line(list, v)), ...sent.map((s) => sentLine(list, s)));
    if (!list.children.length) list.append(element("li", list.dataset.none));
  }

  const when = (at) => new Date(at).toLocaleString(document.documentElement.lang, { dateStyle: "medium", timeStyle: "short" });

  function line(list, visit) {
    const li = element("li", "", { className: "card" });
    li.append(element("strong", visit.where), element("span", when(visit.at), { className: "small" }));
    if (visit.mark !== whose) {
      li.append(element("p", fill(list.dataset.other, { who: visit.who })));
      return li;
    }
    li.append(element("p", list.dataset[visit.state] || list.dataset.waiting));
    if (visit.photos.length) li.append(element("p", fill(list.dataset.photos, { n: visit.photos.length }), { className: "small" }));
    if (visit.state === "refused") {
      li.append(element("p", [visit.problem, ...Object.values(visit.problems || {})].join(" "), { className: "problem" }));
      if (visit.conflict) li.append(element("a", list.dataset.standing, { href: visit.conflict }));
    }
    const next = element("p", "", { className: "pages" });
    if (visit.state === "signin") next.append(element("a", list.dataset.signinLink, { href: root + "/signin?next=" + encodeURIComponent("/waiting") }));
    next.append(element("a", list.dataset.edit, { href: visit.send + "?waiting=" + visit.id }));
    const drop = element("button", list.dataset.drop, { type: "button", className: "quiet" });
    drop.addEventListener("click", async () => {
      if (!confirm(list.dataset.sure)) return;
      await store.drop("visits", visit.id);
      told();
    });
    next.append(drop);
    li.append(next);
    return li;
  }

  function sentLine(list, sent) {
    const li = element("li", "", { className: "card" });
    li.append(element("strong", sent.where), element("span", when(sent.at), { className: "small" }), element("a", list.dataset.sent, { href: sent.place }));
    return li;
  }

  // Other tabs hear of it.
  const others = able ? new BroadcastChannel(name) : null;
  function told() {
    others.postMessage("changed");
    return paint();
  }

  // Whoever signs out hears that visits wait: they stay on the device and are sent when the same person signs in again.
  function warn(e) {
    const n = outbox.hidden ? 0 : outbox.firstElementChild.textContent;
    if (n && !confirm(fill(outbox.dataset.signout, { waiting: n }))) e.preventDefault();
  }

  let editing = null;
  if (form && form.dataset.judge) watch();
  if (!able) return;
  const whose = reader();
  const asof = document.getElementById("asof");
  if (body.dataset.asof && asof) {
    asof.textContent = fill(asof.dataset.text, { when: when(body.dataset.asof) });
    asof.hidden = false;
  }
  others.onmessage = paint;
  navigator.serviceWorker.register(root + "/worker.js", { scope: root + "/" }).catch(() => { /* pages are not kept; visits are */ });
  const next = [...document.querySelectorAll("a[data-keep]")].map((a) => a.href);
  const arrived = performance.getEntriesByType("navigation")[0];
  const passed = arrived && arrived.workerStart > 0; // the script beside the pages saw this one come
  const here = !passed && /\/runs\/[0-9a-f-]{36}(\/visit)?$/.test(location.pathname) && !location.search && !body.dataset.asof ? [location.pathname] : [];
  if (whose) navigator.serviceWorker.ready.then((r) => r.active.postMessage({ keep: [...here, ...next] }));
  for (const x of document.querySelectorAll("form[action$='/signout'], form[action$='/signout/everywhere']")) x.addEventListener("submit", warn);
  const now = document.getElementById("sendnow");
  if (now) now.addEventListener("click", sendAll);
  if (form) {
    form.addEventListener("submit", taken);
    const id = new URLSearchParams(location.search).get("waiting");
    if (id) store.get("visits", id).then((v) => { if (v && v.mark === whose) restore(v); });
  }
  const trySend = async () => {
    const visits = await paint();
    if (visits.some((v) => v.mark === whose && v.state !== "refused")) sendAll();
  };
  trySend();
  addEventListener("online", trySend);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) trySend(); });
  setInterval(() => { if (!document.hidden && !outbox.hidden) trySend(); }, every);
})();
