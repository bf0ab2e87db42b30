// The sheets, as tabs: arrow keys, Home and End move between them, and only the open one is in the tab order.

export function begin(opened) {
  const tabs = [...document.querySelectorAll("[role=tab]")];
  const open = (tab, withFocus) => {
    for (const other of tabs) {
      const isOpen = other === tab;
      other.setAttribute("aria-selected", String(isOpen));
      other.tabIndex = isOpen ? 0 : -1;
      document.getElementById(other.getAttribute("aria-controls")).hidden = !isOpen;
    }
    if (withFocus) tab.focus();
    opened(tab.id.replace("tab-", ""));
  };
  for (const [at, tab] of tabs.entries()) {
    tab.addEventListener("click", () => open(tab, false));
    tab.addEventListener("keydown", (event) => {
      const to = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: tabs.length - 1 }[event.key];
      if (to === undefined) return;
      event.preventDefault();
      open(tabs[(to + tabs.length) % tabs.length], true);
    });
  }
  return (name) => {
    const tab = tabs.find((tab) => tab.id === `tab-${name}`) ?? tabs[0];
    open(tab, false);
  };
}
