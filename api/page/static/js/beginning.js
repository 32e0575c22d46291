// The beginning of a score, so that its first page need not wait for the rest of a long one.

// beginning is a document with no more than the first measures of each part. What is no
// score by parts (MusicXML's score-partwise), or is not longer, stays as it is.
export function beginning(xml, measures) {
  return xml.replace(/(<part\s[^>]*>)([\s\S]*?)(<\/part>)/g, (all, open, content, close) => {
    const end = startOf(content, measures);
    return end < 0 ? all : open + content.slice(0, end) + close;
  });
}

// startOf is where a measure begins, counted from 0; -1 where there are not so many.
function startOf(content, measure) {
  const start = /<measure[\s>]/g;
  for (let i = 0; i <= measure; i++) if (!start.exec(content)) return -1;
  return start.lastIndex - '<measure '.length;
}
