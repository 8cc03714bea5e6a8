// <tl-lever>: one lever of the frame, seen from the front. A touch pulls it or puts it back; it moves only when the record
// has it, and springs back if the apparatus holds it.

export class Lever extends HTMLElement {
  connectedCallback() {
    if (this.wired) return;
    this.wired = true;
    this.querySelector(".pulls").addEventListener("click", () => {
      const detail = { do: "lever", section: this.dataset.section, off: this.hasAttribute("over") };
      this.dispatchEvent(new CustomEvent("act", { bubbles: true, detail }));
    });
  }

  display(line) {
    const over = line.toMe ? !!line.home : line.signal === "off";
    this.toggleAttribute("over", over);
    this.toggleAttribute("collar", !!line.collar);
    this.querySelector(".pulls").setAttribute("aria-pressed", String(over));
  }

  // refused lets the lever spring back.
  refused() {
    this.classList.remove("back");
    void this.offsetWidth;
    this.classList.add("back");
  }
}
customElements.define("tl-lever", Lever);
