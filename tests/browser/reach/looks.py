"""What is wrong with a page as it stands, looked at from within it, by success criteria of WCAG 2.2."""

from __future__ import annotations

from playwright.sync_api import Page

WIDE = """() => {
  const scrolls = (node) => ['auto', 'scroll'].includes(getComputedStyle(node).overflowX);
  const inside = (node) => {
    for (let up = node.parentElement; up && up !== document.body; up = up.parentElement) if (scrolls(up)) return true;
    return false;
  };
  return [...document.querySelectorAll('body *')]
    .filter(node => node.checkVisibility({ visibilityProperty: true }) && !node.closest('.unseen, .skip'))
    .filter(node => !(node instanceof SVGElement) || node instanceof SVGSVGElement)
    .filter(node => {
      const { left, right } = node.getBoundingClientRect();
      return (right > innerWidth + 1 || left < -1) && !inside(node);
    })
    .map(node => `${node.outerHTML.slice(0, 90)} ${Math.round(node.getBoundingClientRect().right)}`);
}"""
"""Runs out of the window, and no part of the page scrolls it in (1.4.10, 1.4.4); tables and drawings may scroll."""

CLIPPED = """() => [...document.querySelectorAll('body *')]
  .filter(node => node.checkVisibility() && node instanceof HTMLElement && !node.closest('.unseen, .skip'))
  .filter(node => [...node.childNodes].some(part => part.nodeType === 3 && part.data.trim()))
  .filter(node => {
    const style = getComputedStyle(node);
    const hides = axis => ['hidden', 'clip'].includes(axis);
    return (hides(style.overflowX) && node.scrollWidth > node.clientWidth + 1)
      || (hides(style.overflowY) && node.scrollHeight > node.clientHeight + parseFloat(style.fontSize) / 2);
  })
  .map(node => `${node.outerHTML.slice(0, 90)}`)"""
"""Words cut off by their own box (1.4.4, 1.4.12)."""

COVERED = """() => [...document.querySelectorAll('a[href], button, input, select, textarea, summary, [tabindex="0"]')]
  .filter(node => node.checkVisibility({ visibilityProperty: true }) && !node.disabled)
  .filter(node => !node.closest('dialog:not([open])'))
  .filter(node => {
    document.activeElement?.blur();
    node.focus();
    if (document.activeElement !== node) return false;
    const seen = node.matches('.unseen, input[type=file]') && node.nextElementSibling ? node.nextElementSibling : node;
    const spots = [...seen.getClientRects()].flatMap((line) => {
      const [left, top] = [Math.max(line.left, 0), Math.max(line.top, 0)];
      const [width, height] = [Math.min(line.right, innerWidth) - left, Math.min(line.bottom, innerHeight) - top];
      const places = [[0.5, 0.5], [0.1, 0.2], [0.9, 0.2], [0.1, 0.8], [0.9, 0.8]];
      return places.map(([x, y]) => [left + x * width, top + y * height]);
    });
    return !spots.some(([x, y]) => {
      const top = document.elementFromPoint(x, y);
      return top && (seen.contains(top) || [...(node.labels ?? [])].some(label => label.contains(top)));
    });
  })
  .map(node => node.outerHTML.slice(0, 110))"""
"""Has the focus and lies under something, or outside of the window (2.4.11)."""

SMALL = """least => [...document.querySelectorAll('a[href], button, input, select, textarea, summary, [role=button]')]
  .filter(node => node.checkVisibility({ visibilityProperty: true }) && !node.closest('.skip, .unseen'))
  .filter(node => !(node.matches('p a, li a, td a, dd a') && getComputedStyle(node).display === 'inline'))
  .map(node => [node, ...[node, ...(node.labels ?? [])].map(one => one.getBoundingClientRect())])
  .filter(([, ...boxes]) => !boxes.some(box => box.width >= least && box.height >= least))
  .map(([node, box]) => `${node.outerHTML.slice(0, 90)} ${Math.round(box.width)} x ${Math.round(box.height)}`)"""
"""A target of less than 24 px (2.5.8), links within a sentence excepted."""

MOVING = """() => [...document.querySelectorAll('*')]
  .filter(node => {
    const style = getComputedStyle(node);
    const lasts = list => list.split(',').some(one => parseFloat(one) > 0);
    return lasts(style.transitionDuration) || (style.animationName !== 'none' && lasts(style.animationDuration))
      || style.scrollBehavior === 'smooth';
  })
  .map(node => node.outerHTML.slice(0, 90))"""
"""Moves although a person asked for less of that (2.3.3)."""

SPACED = """:not(pre, code, svg *) {
  line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important; }
p { margin-block-end: 2em !important; }"""
"""What a person may set of spacing without losing a word (1.4.12)."""

_LISTEN = """() => {
  window.came = [];
  document.activeElement?.blur();
  scrollTo(0, 0);
  addEventListener('focusin', ({ target }) => {
    const box = target.getBoundingClientRect();
    const style = getComputedStyle(target);
    const mark = [target, target.nextElementSibling, target.parentElement, ...target.querySelectorAll('*')];
    window.came.push({ node: target, top: box.top + scrollY, seen: mark.some(one => one
      && (getComputedStyle(one).outlineStyle !== 'none' || parseFloat(getComputedStyle(one).strokeWidth) >= 4)) });
  });
  return [...document.querySelectorAll('a[href], button, input, select, textarea, summary, [tabindex]')]
    .filter(node => node.tabIndex >= 0 && node.checkVisibility({ visibilityProperty: true }) && !node.disabled).length;
}"""


def stops(page: Page) -> list[str]:
    """Tab through the page: what gets no focus, gets it out of order, or does not show it (2.1.1, 2.4.3, 2.4.7)."""
    count: int = page.evaluate(_LISTEN)
    for _ in range(count + 2):
        page.keyboard.press("Tab")
    return page.evaluate(
        """() => {
      const order = window.came.map(({ node }) => node);
      const bad = window.came.filter(({ seen }) => !seen).map(({ node }) => `unmarked ${node.outerHTML.slice(0, 90)}`);
      const first = order.slice(0, 1 + order.slice(1).indexOf(order[0]) || undefined);
      first.forEach((node, at) => {
        if (at && !(first[at - 1].compareDocumentPosition(node) & Node.DOCUMENT_POSITION_FOLLOWING))
          bad.push(`out of order ${node.outerHTML.slice(0, 90)}`);
      });
      const fit = [...document.querySelectorAll('a[href], button, input, select, textarea, summary, [tabindex="0"]')]
        .filter(node => node.tabIndex >= 0 && node.checkVisibility({ visibilityProperty: true }) && !node.disabled)
        .filter(node => node.type !== 'radio' && !node.closest('dialog:not([open])'));
      for (const node of fit) if (!order.includes(node)) bad.push(`never ${node.outerHTML.slice(0, 90)}`);
      return bad;
    }"""
    )
