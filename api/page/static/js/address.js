// Where the page's own files are. The version in the path lets a browser keep them.

export const version = document.documentElement.dataset.version;

export const address = (path) => `/page/${version}/${path}`;
