// Makes elements. Text becomes text, never markup: nothing that came from an instrument or a person can be anything else.

const svgNamespace = "http://www.w3.org/2000/svg";

function append(parent, child) {
  if (child === null || child === undefined || child === false) return;
  if (Array.isArray(child)) {
    for (const one of child) append(parent, one);
  } else {
    parent.append(child);
  }
}

// h("p", {class: "why", on: {click: f}, hidden: true}, "text", node, [more], null)
export function h(tag, attributes, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name === "on") {
      for (const [event, listener] of Object.entries(value)) element.addEventListener(event, listener);
    } else {
      element.setAttribute(name, value === true ? "" : value);
    }
  }
  append(element, children);
  return element;
}

export function svg(className, paths) {
  const picture = document.createElementNS(svgNamespace, "svg");
  picture.setAttribute("viewBox", "0 0 24 24");
  picture.setAttribute("class", className);
  picture.setAttribute("aria-hidden", "true");
  picture.setAttribute("focusable", "false");
  for (const d of paths) {
    const path = document.createElementNS(svgNamespace, "path");
    path.setAttribute("d", d);
    picture.append(path);
  }
  return picture;
}

// What is nobody's language: stock numbers, serial numbers, names, bytes. A browser must not translate it.
export function datum(text, tag = "span", attributes = {}) {
  return h(tag, { translate: "no", ...attributes }, text);
}

// Words that the service says, which are in its language and not in the page's.
export function said(text, tag = "span", attributes = {}) {
  return h(tag, { lang: "en", ...attributes }, text);
}

// Replaces what an element holds. Who had the focus in there keeps it, if there is still one with that id.
export function fill(element, ...children) {
  const focused = element.contains(document.activeElement) ? document.activeElement.id : "";
  const fragment = document.createDocumentFragment();
  for (const child of children) {
    if (Array.isArray(child)) {
      for (const one of child.flat(Infinity))
        if (one !== null && one !== undefined && one !== false) fragment.append(one);
    } else if (child !== null && child !== undefined && child !== false) {
      fragment.append(child);
    }
  }
  element.replaceChildren(fragment);
  if (focused !== "") document.getElementById(focused)?.focus({ preventScroll: true });
}

// Writes only what differs, so that nothing is laid out or announced anew for nothing.
export function setText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}
