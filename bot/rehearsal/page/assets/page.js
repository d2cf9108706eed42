// The page works without this file, by whole pages and plain forms. With it,
// a press changes only what has changed, forms take and give back the focus,
// and news arrive by themselves.
"use strict";

(() => {
  const $ = (id) => document.getElementById(id);
  const sent = new Map(); // id -> how the server last drew it
  let opener = ""; // id of what opened the form
  let opened = ""; // view and title of the form that has had the focus

  // Parts are drawn anew as a whole; in lists, entry by entry.
  const parts = (root) => root.querySelectorAll("[data-part]");
  const entries = (root) => root.querySelectorAll("[data-list] > [id]");
  const remember = (root) => {
    for (const e of [...parts(root), ...entries(root)]) sent.set(e.id, e.outerHTML);
  };

  // What a person has chosen may differ from what the server drew first.
  const unchosen = (html) => html.replace(/ (selected|checked)=""/g, "");

  // update puts fresh in the place of old, unless it is drawn as before.
  const update = (old, fresh) => {
    const html = fresh.outerHTML;
    const before = sent.get(old.id);
    sent.set(old.id, html);
    if (before === html) return;
    if (before && unchosen(before) === unchosen(html)) {
      follow(old, fresh);
      return;
    }
    const open = [...old.querySelectorAll("details[open]")].map((d) => d.id);
    keepTyped(old, fresh);
    old.replaceWith(fresh);
    for (const id of open) if ($(id)) $(id).open = true;
  };

  // A control is touched from a choice until the answer to its latest request
  // is in. The mark is another one for each choice, so that an answer to an
  // earlier request does not end it.
  let choices = 0;
  const touch = (control) => { control.dataset.touched = ++choices; };

  // touchedBy gives the ids and marks of what a request from form carries. What
  // acts at once is carried by its own request only.
  const touchedBy = (form, control) => [...form.querySelectorAll("[data-touched]")]
    .filter((e) => e === control || !e.dataset.now).map((e) => [e.id, e.dataset.touched]);
  const answered = (carried) => {
    for (const [id, mark] of carried) if ($(id) && $(id).dataset.touched === mark) delete $(id).dataset.touched;
  };

  // follow takes over choices made elsewhere, but not over those being made.
  const follow = (old, fresh) => {
    for (const e of fresh.querySelectorAll("select, input")) {
      const mine = $(e.id);
      if (!mine || mine.dataset.touched) continue;
      if (e.type === "checkbox" || e.type === "radio") mine.checked = e.checked;
      else if (e.tagName === "SELECT") mine.value = e.value;
    }
  };

  // keepTyped carries over what has been typed and not been sent yet.
  const keepTyped = (old, fresh) => {
    for (const e of old.querySelectorAll("[data-touched]")) {
      const next = fresh.querySelector("#" + CSS.escape(e.id));
      if (!next) continue;
      next.dataset.touched = e.dataset.touched;
      if (e.type === "checkbox" || e.type === "radio") next.checked = e.checked;
      else next.value = e.value;
    }
  };

  const updateList = (old, fresh) => {
    let at = old.firstElementChild;
    for (const next of [...fresh.children]) {
      const mine = $(next.id);
      if (mine && mine.parentElement === old) {
        while (at && at !== mine && !fresh.querySelector("#" + CSS.escape(at.id))) at = drop(at);
        if (at === mine) at = mine.nextElementSibling;
        else old.insertBefore(mine, at);
        update(mine, next);
      } else {
        sent.set(next.id, next.outerHTML);
        old.insertBefore(next, at);
      }
    }
    while (at) at = drop(at);
  };

  const drop = (e) => {
    const next = e.nextElementSibling;
    e.remove();
    return next;
  };

  // apply brings the page to the state of doc, which the server has drawn.
  // Where time has moved, what is new comes into sight.
  const apply = (doc, moved) => {
    const focused = document.activeElement ? document.activeElement.id : "";
    const before = new Set([...document.querySelectorAll("#stream > article")].map((a) => a.id));
    const atEnd = innerHeight + scrollY > document.documentElement.scrollHeight - 120;
    for (const fresh of doc.querySelectorAll("#stream, #form-blocks")) {
      const old = $(fresh.id);
      if (old && sameForm(doc, fresh)) updateList(old, fresh);
    }
    for (const fresh of parts(doc)) {
      const old = $(fresh.id);
      if (old && !fresh.closest("#stream") && sameForm(doc, fresh)) update(old, fresh);
    }
    applyForm(doc);
    if (focused && document.activeElement === document.body && $(focused)) $(focused).focus({ preventScroll: true });
    const news = [...document.querySelectorAll("#stream > article")].filter((a) => !before.has(a.id));
    announce(news);
    if (news.length && (atEnd || moved)) news[0].scrollIntoView({ block: "start" });
  };

  const viewOf = (root) => {
    const form = root.querySelector("#form");
    return form ? form.dataset.view : "";
  };

  // sameForm says whether something is outside the form, or in one that is
  // open already.
  const sameForm = (doc, e) => !e.closest("#forms") || viewOf(doc) === viewOf(document);

  const applyForm = (doc) => {
    if (viewOf(doc) !== viewOf(document)) {
      $("forms").replaceChildren(...doc.querySelector("#forms").children);
      remember($("forms"));
    } else if ($("form")) {
      $("form").dataset.title = doc.querySelector("#form").dataset.title;
    }
    focusForm();
  };

  // focusForm shows a new form and moves into it; where one has gone, the
  // focus goes back to what opened it.
  const focusForm = () => {
    const form = $("form");
    const now = form ? form.dataset.view + form.dataset.title : "";
    if (form && !form.matches(":modal")) {
      form.removeAttribute("open");
      form.showModal();
    }
    if (now === opened) {
      focusError();
      return;
    }
    opened = now;
    if (form) {
      form.scrollTop = 0;
      (form.querySelector("[data-focus]") || $("form-title")).focus();
    } else {
      ($(opener) || $("main")).focus({ preventScroll: true });
    }
  };

  let complaint = "";
  const focusError = () => {
    const wrong = document.querySelector("#form [aria-invalid=true]");
    const text = [...document.querySelectorAll("#form .error")].map((e) => e.textContent).join();
    if (wrong && text !== complaint) wrong.focus();
    complaint = text;
  };

  const announce = (messages) => {
    if (!messages.length) return;
    const last = messages[messages.length - 1];
    const words = last.innerText.replace(/\s+/g, " ").slice(0, 120);
    $("news").textContent = messages.length === 1 ? "New message: " + words : messages.length + " new messages. The last: " + words;
  };

  // One thing after the other, in the order in which it was done.
  let line = Promise.resolve();
  let waiting = 0;
  const inLine = (job) => {
    waiting++;
    line = line.then(job).then(() => offline(""), (e) => offline("The rehearsal does not answer (" + e.message + "). Is the program still running?"))
      .finally(() => waiting--);
    return line;
  };

  // offline tells where the person looks: a form lies before everything else.
  const offline = (text) => {
    for (const e of document.querySelectorAll(".offline")) e.remove();
    if (!text) return;
    const notice = document.createElement("p");
    notice.className = "notice offline";
    notice.setAttribute("role", "alert");
    notice.textContent = text;
    ($("form") ? $("form").querySelector("header") : $("notice")).append(notice);
  };

  const load = async (url, options) => {
    const answer = await fetch(url, { ...options, headers: { "X-Refresh": "1" } });
    if (!answer.ok) throw new Error("error " + answer.status);
    return new DOMParser().parseFromString(await answer.text(), "text/html");
  };

  // What somebody presses makes its form busy; what acts at once does not,
  // since the next choice is often made before the last one is answered.
  const post = (form, data, control) => {
    const pressed = !control;
    if (pressed) form.setAttribute("aria-busy", "true");
    const carried = touchedBy(form, control);
    return inLine(async () => {
      if (pressed) $("news").textContent = "One moment.";
      try {
        const doc = await load(form.getAttribute("action"), { method: "POST", body: data });
        answered(carried);
        apply(doc, form.closest(".time"));
      } finally {
        if (pressed) form.removeAttribute("aria-busy");
        if ($("news").textContent === "One moment.") $("news").textContent = "";
      }
    });
  };

  const dataOf = (form, does) => {
    const data = new FormData(form);
    if (does) data.set(does.name || "do", does.value);
    return data;
  };

  // confirmed asks the question of a button, if it has one.
  const confirmed = (button) => new Promise((answer) => {
    if (!button || !button.dataset.confirm) return answer(true);
    const box = $("confirm");
    $("confirm-title").textContent = button.dataset.confirm;
    $("confirm-text").textContent = button.dataset.text;
    $("confirm-no").textContent = button.dataset.no;
    $("confirm-yes").textContent = button.dataset.yes;
    $("confirm-yes").className = button.dataset.style || "primary";
    const done = (yes) => () => { box.close(yes ? "yes" : ""); };
    $("confirm-no").onclick = done(false);
    $("confirm-yes").onclick = done(true);
    box.returnValue = "";
    box.onclose = () => answer(box.returnValue === "yes");
    box.showModal();
    $("confirm-no").focus();
  });

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (form.method !== "post") return;
    event.preventDefault();
    const button = event.submitter;
    if (form.getAttribute("aria-busy") === "true" || !(await confirmed(button))) return;
    hurry(form);
    const says = form.id === "write";
    if (!form.closest("#forms")) opener = button && button.id ? button.id : "text";
    const data = dataOf(form, button && button.name ? button : null);
    if (says) form.elements.text.value = "";
    post(form, data);
  });

  // What acts at once waits a moment, since arrow keys pass many choices by. By
  // then it may have been drawn anew, so it is found by its id.
  const soon = new Map(); // id -> timer
  const actNow = (id) => {
    clearTimeout(soon.get(id));
    soon.delete(id);
    const control = $(id);
    if (control) post(control.form, dataOf(control.form, { value: control.dataset.now }), control);
  };
  const hurry = (form) => {
    for (const id of [...soon.keys()]) if (form.contains($(id))) actNow(id);
  };
  document.addEventListener("change", (event) => {
    const control = event.target;
    if (!control.dataset || !control.dataset.now) return;
    touch(control);
    clearTimeout(soon.get(control.id));
    soon.set(control.id, setTimeout(actNow, 250, control.id));
  });
  document.addEventListener("input", (event) => {
    if (event.target.form && event.target.form.method === "post") touch(event.target);
  });

  document.addEventListener("cancel", (event) => {
    if (event.target.id !== "form") return;
    event.preventDefault();
    $("form-close").click();
  }, true);

  const refresh = () => inLine(async () => apply(await load(location.pathname)));
  let due = 0;
  const listen = () => {
    const news = new EventSource(document.body.dataset.news);
    news.onmessage = () => {
      clearTimeout(due);
      due = setTimeout(() => { if (waiting === 0) refresh(); else news.onmessage(); }, 300);
    };
    addEventListener("pagehide", () => news.close());
  };

  remember(document);
  focusForm();
  listen();
  const last = document.querySelector("#stream > article:last-of-type");
  if (last && !location.hash && /\/in\/[^/]+$/.test(location.pathname) && !$("form")) last.scrollIntoView({ block: "start", behavior: "instant" });
  document.documentElement.dataset.ready = "yes";
})();
