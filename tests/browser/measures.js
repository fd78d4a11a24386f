// What of JOB §4 can be measured on a page: sizes of type and targets, gaps, width, what moves or times out.
(() => {
  const seen = (el) => {
    if (!el.checkVisibility({ checkOpacity: true, checkVisibilityCSS: true })) return false;
    const box = el.getBoundingClientRect();
    return box.width > 1 && box.height > 1 && box.right > 0;
  };
  const targets = [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")]
    .filter(seen)
    .map((el) => {
      const label = ["checkbox", "radio"].includes(el.type) ? el.closest("label") : null;
      return { el, box: (label || el).getBoundingClientRect() };
    });
  const name = (el) => el.outerHTML.slice(0, 90);
  const small = targets.filter((t) => t.box.width < 47.5 || t.box.height < 47.5).map((t) => name(t.el));
  const close = [];
  for (let i = 0; i < targets.length; i++) {
    for (let j = i + 1; j < targets.length; j++) {
      const [a, b] = [targets[i].box, targets[j].box];
      if (targets[i].el.contains(targets[j].el) || targets[j].el.contains(targets[i].el)) continue;
      const across = Math.max(a.left - b.right, b.left - a.right);
      const down = Math.max(a.top - b.bottom, b.top - a.bottom);
      const gap = Math.max(across, down);
      if (gap < 7.5) close.push(`${gap.toFixed(1)}: ${name(targets[i].el)} | ${name(targets[j].el)}`);
    }
  }
  const type = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const el = walk.currentNode.parentElement;
    if (!walk.currentNode.textContent.trim() || !seen(el) || el.closest("script, style, svg")) continue;
    const px = parseFloat(getComputedStyle(el).fontSize);
    if (px < 17.9) type.push(`${px}: ${walk.currentNode.textContent.trim().slice(0, 40)}`);
  }
  for (const text of document.querySelectorAll("svg text")) {
    if (!seen(text)) continue;
    const px = parseFloat(getComputedStyle(text).fontSize) * text.getScreenCTM().a;
    if (px < 17) type.push(`svg ${px.toFixed(1)}: ${text.textContent}`);
  }
  return { small, close, type, wide: document.documentElement.scrollWidth - window.innerWidth };
})();
