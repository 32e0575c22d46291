// Where a hand-in is shown.

export const address = (id, reference, attempt) => `#assignments?${new URLSearchParams({ assignment: id, reference, ...(attempt && { attempt }) })}`;
