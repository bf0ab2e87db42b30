// Puts a new piece of the sheet over an old one by changing only what differs, so that focus and selection survive.

export function show(place, html) {
  const template = document.createElement("template");
  template.innerHTML = html;
  children(place, template.content);
}

function children(old, fresh) {
  let here = old.firstChild;
  for (const next of [...fresh.childNodes]) {
    if (here === null) {
      old.append(next);
      continue;
    }
    const after = here.nextSibling;
    patch(here, next);
    here = after;
  }
  while (here !== null) {
    const after = here.nextSibling;
    here.remove();
    here = after;
  }
}

function patch(old, fresh) {
  if (old.nodeType !== fresh.nodeType || old.nodeName !== fresh.nodeName || old.id !== fresh.id) {
    old.replaceWith(fresh);
  } else if (old.nodeType === Node.ELEMENT_NODE) {
    // Most leaves of a drawing are as they were: the browser finds that out faster than a loop over attributes.
    if (fresh.firstElementChild === null && old.isEqualNode(fresh)) return;
    attributes(old, fresh);
    children(old, fresh);
  } else if (old.data !== fresh.data) {
    old.data = fresh.data;
  }
}

function attributes(old, fresh) {
  for (const { name, value } of [...fresh.attributes]) {
    if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  }
  for (const { name } of [...old.attributes]) {
    // What somebody unfolded stays so.
    if (!fresh.hasAttribute(name) && !(name === "open" && old.nodeName === "DETAILS")) old.removeAttribute(name);
  }
}
