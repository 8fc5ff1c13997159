/* What makes the pages answer as one types. Everything works without it: forms are sent, links are followed. */
"use strict";
(() => {
  const answer = () => document.getElementById("answer");
  const heard = document.getElementById("heard");
  let running = null;

  /** Say to those who hear the page what came of it. */
  const tell = () => {
    const said = answer()?.querySelector("[data-heard]");
    if (said && heard.textContent !== said.dataset.heard) heard.textContent = said.dataset.heard;
  };

  const part = (address, signal) =>
    fetch(address, { headers: { "Loadworthy-Part": "answer" }, credentials: "same-origin", signal }).then((reply) => reply.text());

  /** Pictures come after the answer that they belong to. */
  const follow = (root) => {
    for (const place of root.querySelectorAll("[data-follow]")) {
      const address = place.dataset.follow;
      place.removeAttribute("data-follow");
      place.setAttribute("aria-busy", "true");
      part(address, running?.signal)
        .then((text) => { if (place.isConnected) { place.innerHTML = text; follow(place); } })
        .catch((error) => { if (error.name !== "AbortError") place.textContent = "This part of the page could not be loaded; load the page anew."; })
        .finally(() => place.removeAttribute("aria-busy"));
    }
  };

  /** What one kind of reading of a load says of the others stands in their empty fields. */
  const fill = () => {
    for (const known of answer().querySelectorAll("output[data-for]")) {
      const field = document.getElementById(known.dataset.for);
      if (field) field.placeholder = known.textContent.trim();
    }
  };

  /** Where one is when what one was at is gone: at the one before it of its kind, or at the answer itself. */
  const nearest = (id, place) => {
    const [, stem, last] = /^(.*-)(\d+)$/.exec(id) ?? [null, id, 0];
    for (let number = Number(last); number > 0; number -= 1) {
      const one = document.getElementById(stem + number);
      if (one) return one;
    }
    return (id && document.getElementById(id)) || place;
  };

  /** Which address the page shows; the place within it does not count. */
  const here = () => location.pathname + location.search;
  let shown = here();

  /** Put the answer of an address in place of the one that stands, and keep the focus. */
  const show = async (address, { remember, push }) => {
    running?.abort();
    running = new AbortController();
    const place = answer();
    place.classList.add("busy");
    place.setAttribute("aria-busy", "true");
    try {
      const text = await part(address, running.signal);
      const within = place.contains(document.activeElement);
      const focused = document.activeElement.id;
      place.innerHTML = text;
      if (within) nearest(focused, place).focus();
      if (remember) {
        history[push ? "pushState" : "replaceState"](null, "", address);
        shown = here();
      }
      fill();
      follow(place);
      tell();
      place.classList.remove("busy");
      place.removeAttribute("aria-busy");
    } catch (error) {
      if (error.name === "AbortError") return;
      place.classList.remove("busy");
      place.removeAttribute("aria-busy");
      place.insertAdjacentHTML("afterbegin", '<div class="caution" role="alert"><p>The program does not answer. Is it still running? Start it again with: loadworthy serve</p></div>');
    }
  };

  /** The address of a form: what is filled in, and nothing else. */
  const addressOf = (form) => {
    const filled = new URLSearchParams();
    for (const [name, value] of new FormData(form)) {
      if (typeof value === "string" && value.trim() !== "") filled.append(name, value.trim());
    }
    return `${form.getAttribute("action")}?${filled}`;
  };

  /** Of fields that say the same thing in several ways, the one that was typed last counts. */
  const oneOf = (field) => {
    const kind = field.dataset.oneOf;
    if (!kind || field.value.trim() === "") return;
    for (const other of document.querySelectorAll(`[data-one-of="${kind}"]`)) if (other !== field) other.value = "";
  };

  let waiting = 0;
  document.addEventListener("input", (event) => {
    const form = event.target.form;
    oneOf(event.target);
    if (!form || !("live" in form.dataset) || event.target.type === "file") return;
    clearTimeout(waiting);
    waiting = setTimeout(() => show(addressOf(form), { remember: true, push: false }), 90);
  });

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!("live" in form.dataset) || event.submitter?.hasAttribute("formaction")) return;
    event.preventDefault();
    clearTimeout(waiting);
    show(addressOf(form), { remember: true, push: true }).then(() => {
      // Where the form is longer than the screen, what was asked for is brought into sight.
      if (answer().getBoundingClientRect().top > window.innerHeight - 80) answer().scrollIntoView({ block: "start" });
    });
  });

  const sheet = document.getElementById("sheet");
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-sheet], a[data-swap]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey || event.button !== 0) return;
    event.preventDefault();
    if ("swap" in link.dataset) {
      show(link.getAttribute("href"), { remember: true, push: true });
      return;
    }
    const body = sheet.querySelector(".sheet-body");
    body.textContent = "…";
    sheet.showModal();
    part(link.getAttribute("href"))
      .then((text) => {
        body.innerHTML = text;
        follow(body);
        const place = link.hash && body.querySelector(CSS.escape ? `#${CSS.escape(link.hash.slice(1))}` : link.hash);
        if (place) place.scrollIntoView({ block: "start" });
      })
      .catch(() => { body.textContent = "The program does not answer. Is it still running?"; });
  });

  /* A choice that changes what the form asks for loads the page anew. */
  document.addEventListener("change", (event) => {
    if (!("reload" in event.target.dataset)) return;
    if ("stay" in event.target.form.dataset) event.target.form.requestSubmit();
    else event.target.form.submit();
  });

  /* A button that is pressed again and again stays under the finger, though each press loads the page anew. */
  document.addEventListener("submit", (event) => {
    if (!("stay" in event.target.dataset)) return;
    sessionStorage.setItem("stay", JSON.stringify({ top: window.scrollY, id: document.activeElement?.id ?? "" }));
  });
  const kept = sessionStorage.getItem("stay");
  sessionStorage.removeItem("stay");
  if (kept) {
    const { top, id } = JSON.parse(kept);
    const again = () => {
      window.scrollTo({ top, behavior: "instant" });
      if (id) document.getElementById(id)?.focus({ preventScroll: true });
    };
    again();
    window.addEventListener("load", () => requestAnimationFrame(again));
  }

  /* Files may be dropped where they can be chosen. */
  for (const place of document.querySelectorAll("[data-drop]")) {
    const field = place.querySelector("input[type=file]");
    for (const kind of ["dragenter", "dragover"]) place.addEventListener(kind, (event) => { event.preventDefault(); place.classList.add("over"); });
    for (const kind of ["dragleave", "drop"]) place.addEventListener(kind, () => place.classList.remove("over"));
    const send = () => { if (field.files.length) { place.classList.add("busy"); field.form.requestSubmit(place.querySelector("button[formaction]")); } };
    place.addEventListener("drop", (event) => {
      event.preventDefault();
      if (event.dataTransfer.files.length) { field.files = event.dataTransfer.files; send(); }
    });
    field.addEventListener("change", send);
  }
  /* A file that is dropped beside the place for it would else replace the page. */
  for (const kind of ["dragover", "drop"]) window.addEventListener(kind, (event) => event.preventDefault());

  for (const button of document.querySelectorAll("[data-print]")) {
    button.hidden = false;
    button.addEventListener("click", () => window.print());
  }

  // A way within the page changes the history as well, but not what is shown.
  window.addEventListener("popstate", () => { if (here() !== shown) location.reload(); });
  if (answer()) { fill(); follow(answer()); }
  // What was typed before this ran is answered as well.
  for (const form of document.querySelectorAll("form[data-live]")) {
    const typed = [...form.querySelectorAll("input[type=text]")].filter((field) => field.value !== field.defaultValue);
    typed.forEach(oneOf);
    if (typed.length) show(addressOf(form), { remember: true, push: false });
  }
})();
