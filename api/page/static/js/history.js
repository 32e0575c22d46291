// Steps of editing: each a list of edits, so that one step back undoes what one press
// did. What is posted is all edits up to where the history stands.

export class History {
  constructor(steps = [], at = steps.length) {
    this.steps = steps;
    this.at = at;
  }

  get edits() { return this.steps.slice(0, this.at).flat(); }

  get canUndo() { return this.at > 0; }

  get canRedo() { return this.at < this.steps.length; }

  // with is the history after one more step; what was undone is gone.
  with(edits) { return new History([...this.steps.slice(0, this.at), edits]); }

  undone() { return new History(this.steps, Math.max(0, this.at - 1)); }

  redone() { return new History(this.steps, Math.min(this.steps.length, this.at + 1)); }
}
