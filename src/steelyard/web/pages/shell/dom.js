// Elements of a page, found by what they are: a template that lost one is named at once, and the checker knows its kind.

/**
 * The element with this id. It throws where the page has none, or one of another kind.
 * @template {Element} T
 * @param {string} id
 * @param {new () => T} kind
 * @returns {T}
 */
export function element(id, kind) {
  return sure(document.getElementById(id), kind, `#${id}`);
}

/**
 * Every element under `root` that the selector finds, each of this kind.
 * @template {Element} T
 * @param {ParentNode} root
 * @param {string} selector
 * @param {new () => T} kind
 * @returns {T[]}
 */
export function every(root, selector, kind) {
  return [...root.querySelectorAll(selector)].map((node) => sure(node, kind, selector));
}

/**
 * The first element under `root` that the selector finds; null where there is none.
 * @template {Element} T
 * @param {ParentNode} root
 * @param {string} selector
 * @param {new () => T} kind
 * @returns {T | null}
 */
export function first(root, selector, kind) {
  const node = root.querySelector(selector);
  return node && sure(node, kind, selector);
}

/**
 * The nearest element that the selector names, from where an event happened outwards; null where there is none.
 * @param {EventTarget | null} target
 * @param {string} selector
 * @returns {HTMLElement | null}
 */
export function closest(target, selector) {
  return target instanceof Element ? target.closest(selector) : null;
}

/**
 * @template {Element} T
 * @param {Element | null} node
 * @param {new () => T} kind
 * @param {string} name
 * @returns {T}
 */
function sure(node, kind, name) {
  if (node instanceof kind) return node;
  throw new TypeError(`${name} is ${node ? node.constructor.name : "not on this page"}; ${kind.name} was looked for`);
}
