// The camera on demand: what it sees, a hint of the server what to do, and a still at the highest
// resolution that the device gives.

const HINT_MS = 500;
const LONGEST_PX = 960; // of a frame for a hint
const READY_MS = 4000; // then an asked-for photo is taken as it is
const TAKE_MS = 6000;
const SEND_AGAIN_MS = 2000;
const REAR = { facingMode: { ideal: "environment" }, width: { ideal: 4096 }, height: { ideal: 3072 } };

export class Camera {
  /** dialog: with finder, advice, shutter. post(path, body, type): to the server.
   *  on: taken(), trouble(text), closed() */
  constructor(dialog, post, on) {
    Object.assign(this, { dialog, post, on });
    this.find = (id) => dialog.querySelector(`#${id}`);
    this.video = this.find("finder");
    this.stream = null;
    this.hint = null;
    this.find("shutter").addEventListener("click", () => this.take());
    this.find("native-open").addEventListener("click", () => this.find("native").click());
    this.find("native").addEventListener("change", ({ target }) => this.chosen(target));
    dialog.addEventListener("close", () => this.close());
  }

  async open() {
    if (!this.dialog.open) this.dialog.showModal();
    if (this.stream || this.opening) return;
    this.opening = true;
    this.advise("The camera opens …");
    this.complain("");
    try {
      const stream = await navigator.mediaDevices.getUserMedia({ video: REAR });
      if (!this.dialog.open) return stream.getTracks().forEach((track) => track.stop());
      this.stream = stream;
      this.video.srcObject = stream;
      await this.video.play();
      this.advise("Show the card and both edges of the belt.");
      this.look();
    } catch {
      this.advise("");
      this.complain("No camera can be used here. Use the device’s camera, or choose a picture.");
    } finally {
      this.opening = false;
    }
  }

  close() {
    this.stream?.getTracks().forEach((track) => track.stop());
    this.stream = null;
    this.video.srcObject = null;
    this.hint = null;
    this.on.closed();
  }

  advise(text) {
    const advice = this.find("advice");
    if (advice.textContent !== text) advice.textContent = text;
    advice.classList.toggle("ready", Boolean(this.hint?.ready));
  }

  complain(text) {
    const told = this.find("camera-told");
    told.textContent = text;
    told.hidden = !text;
  }

  /** One frame after the other, never two on their way. */
  async look() {
    const stream = this.stream;
    while (stream && stream === this.stream) {
      const began = performance.now();
      try {
        const frame = await this.frame(LONGEST_PX, 0.8);
        const answer = frame && (await this.post(`preview?px=${this.photo_px()}`, frame, "image/jpeg"));
        if (stream !== this.stream) return;
        if (answer) {
          this.hint = answer;
          this.advise(sentence(answer.words));
          if (answer.ready) this.whenReady?.();
        }
      } catch {
        this.hint = null; // without a link: a photo can still be taken
      }
      await new Promise((resolve) => setTimeout(resolve, Math.max(50, HINT_MS - (performance.now() - began))));
    }
  }

  /** The longer side of a photo that would be taken now. */
  photo_px() {
    return Math.max(this.video.videoWidth, this.video.videoHeight);
  }

  async frame(longest_px, quality) {
    const { videoWidth, videoHeight } = this.video;
    if (!videoWidth) return null;
    const scale = Math.min(1, longest_px / Math.max(videoWidth, videoHeight));
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(videoWidth * scale);
    canvas.height = Math.round(videoHeight * scale);
    canvas.getContext("2d").drawImage(this.video, 0, 0, canvas.width, canvas.height);
    return new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", quality));
  }

  /** Somebody asked for a photo by voice: wait until it would be a good one, but not for long. */
  async takeWhenReady() {
    await this.open();
    if (!this.stream) return;
    if (!this.hint?.ready) {
      await new Promise((resolve) => {
        this.whenReady = resolve;
        setTimeout(resolve, READY_MS);
      });
      this.whenReady = null;
    }
    await this.take();
  }

  async take() {
    if (this.taking || !this.stream) return;
    this.taking = true;
    try {
      const still = (await this.still()) ?? (await this.frame(Infinity, 0.95));
      if (!still) throw new Error("no picture");
      this.on.taken();
      this.dialog.close();
      this.send(still);
    } catch {
      this.complain("The photo could not be taken. Try again, or use the device’s camera.");
    } finally {
      this.taking = false;
    }
  }

  /** What the camera's own still gives, where the browser offers it and it is not smaller. */
  async still() {
    if (!window.ImageCapture) return null;
    const [track] = this.stream.getVideoTracks();
    try {
      const late = new Promise((_, reject) => setTimeout(() => reject(new Error("late")), TAKE_MS));
      const blob = await Promise.race([new ImageCapture(track).takePhoto(), late]);
      if (!["image/jpeg", "image/png"].includes(blob.type)) return null;
      const picture = await createImageBitmap(blob);
      const smaller = picture.width * picture.height < this.video.videoWidth * this.video.videoHeight;
      picture.close();
      return smaller ? null : blob;
    } catch {
      return null;
    }
  }

  chosen(input) {
    const [file] = input.files;
    if (!file) return;
    this.on.taken();
    if (this.dialog.open) this.dialog.close();
    this.send(file);
    input.value = "";
  }

  /** Again until the server has it or refuses it. */
  async send(picture) {
    for (;;) {
      try {
        await this.post("photo", picture, picture.type || "application/octet-stream");
        return;
      } catch (error) {
        if (error.refused) return this.on.trouble(error.message);
        this.on.trouble("The photo is sent as soon as the link is back. Leave this page open.");
        await new Promise((resolve) => setTimeout(resolve, SEND_AGAIN_MS));
      }
    }
  }
}

function sentence(words) {
  return words ? `${words[0].toUpperCase()}${words.slice(1)}${/[.!?]$/.test(words) ? "" : "."}` : "";
}
