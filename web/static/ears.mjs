// Whether this tablet can be heard. Its face says so where it cannot, and the sitting is told, so that the door shows it.

const SURE = 4000; // milliseconds of silence before it is told
const LOOK = 3000; // between two looks at whether the sound card goes on

export class Ears {
  constructor(shelf) {
    this.shelf = shelf;
    this.lapsed = false; // these bells were heard, and fell silent without the signaller
    setInterval(() => shelf.bells.watch(), LOOK);
  }

  // look shows the way to hear the bells where they are silent, and tells what lasts.
  look() {
    const { bells, page } = this.shelf;
    const strip = document.querySelector(".strip.hush");
    strip.hidden = !page.working || bells.awake();
    if (!bells.able()) {
      strip.firstElementChild.textContent = "This browser has no sound: watch the beats";
      strip.firstElementChild.disabled = true;
    }
    if (page.working) this.soon(bells.awake());
  }

  // soon tells of a change when it has lasted, of bells that sound again at once.
  soon(awake) {
    if (awake === this.awake && this.timer) return;
    this.awake = awake;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => {
      this.timer = 0;
      this.tell();
    }, awake ? 0 : SURE);
  }

  tell() {
    const { bells, shown } = this.shelf;
    if (!shown) return;
    if (!bells.awake() && shown.ears === "heard") this.say("not heard", true);
    else if (bells.awake() && this.lapsed) this.say("heard", false);
  }

  // say records whether the bells are heard, by the signaller's word or, lapsed, by the tablet's own.
  say(words, lapsed) {
    this.lapsed = lapsed;
    this.shelf.act({ do: "ears", words });
  }
}
