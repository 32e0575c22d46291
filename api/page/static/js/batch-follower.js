// Follows one batch: its events as they come, and the answers page by page.

import { askJSON } from './service.js';

const page = 100; // answers asked for at once

export class Follower {
  constructor(id, changed) {
    Object.assign(this, { id, changed, scores: [], byNumber: new Map(), after: 0, over: false });
  }

  async begin() {
    this.problem = undefined;
    await this.#look();
    if (this.over || this.batch?.state === 'finished') return;
    this.events = new EventSource(`/v1/batches/${encodeURIComponent(this.id)}/events`);
    for (const kind of ['scores-added', 'batch-closed', 'scores-answered', 'batch-finished', 'batch-canceled', 'batch-resumed']) {
      this.events.addEventListener(kind, () => this.#look());
    }
  }

  stop() {
    this.over = true;
    this.events?.close();
  }

  // #look asks for what is new; calls while it asks are answered by one more look.
  async #look() {
    if (this.looking) {
      this.again = true;
      return;
    }
    this.looking = true;
    try {
      do {
        this.again = false;
        this.batch = await askJSON(`/v1/batches/${encodeURIComponent(this.id)}`);
        await this.#answers();
      } while (this.again && !this.over);
    } catch (problem) {
      this.problem = problem;
    }
    this.looking = false;
    if (this.over) return;
    const finished = this.batch?.state === 'finished';
    if (finished) this.events?.close();
    this.changed(finished ? 'finished' : 'more');
  }

  // #answers reads what came since the last look. Scores may be answered out of order:
  // when all is done, what was passed over is read once more from the start.
  async #answers() {
    await this.#pages();
    const { done, failed } = this.batch.scores;
    if (this.batch.state === 'finished' && this.byNumber.size < done + failed) {
      this.after = 0;
      await this.#pages();
    }
    this.scores = [...this.byNumber.values()].sort((a, b) => a.number - b.number);
  }

  async #pages() {
    for (let more = true; more && !this.over;) {
      const { results, next } = await askJSON(`/v1/batches/${encodeURIComponent(this.id)}/results?limit=${page}&after=${this.after}`);
      for (const r of results) {
        if (r.report || r.problem) this.byNumber.set(r.number, short(r));
        this.after = Math.max(this.after, r.number);
      }
      more = Boolean(next) && results.length > 0;
    }
  }
}

// short keeps of an answer what the plots need.
function short({ number, file, state, report, problem }) {
  return {
    number, file, state, problem,
    title: report?.score.title, measures: report?.score.measures ?? 0,
    summary: report?.summary ?? { faults: 0, cautions: 0, remarks: 0 },
    findings: (report?.findings ?? []).map(({ rule, severity, measure, measure_index }) => ({ rule, severity, measure, measure_index })),
  };
}
