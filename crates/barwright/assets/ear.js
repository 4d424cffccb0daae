// Runs beside the page's own work: hands the microphone's samples over in frames of a fortieth of a second.
class Ear extends AudioWorkletProcessor {
  constructor() {
    super();
    this.length = Math.round(sampleRate / 40);
    this.frame = new Float32Array(this.length);
    this.filled = 0;
  }

  process(inputs) {
    const channel = inputs[0][0];
    // Without sound for a moment (the device is being changed) time still goes on.
    const count = channel ? channel.length : 128;
    for (let i = 0; i < count; i += 1) {
      this.frame[this.filled] = channel ? channel[i] : 0;
      this.filled += 1;
      if (this.filled === this.length) {
        this.port.postMessage(this.frame, [this.frame.buffer]);
        this.frame = new Float32Array(this.length);
        this.filled = 0;
      }
    }
    return true;
  }
}

registerProcessor("ear", Ear);
