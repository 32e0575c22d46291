"use strict";
// Messages between frames as LTI postMessage Storage 0.1 has them: a request with
// a subject, an id, a key and a value, and a response of the same id from the origin of
// the learning system's login.
const data = document.body.dataset;

function frame() {
  const outer = window.parent !== window ? window.parent : window.opener;
  if (!outer || data.frame === "_parent") return outer;
  try {
    return outer.frames[data.frame] || outer;
  } catch {
    return outer;
  }
}

function ask(subject, more) {
  return new Promise((resolve, reject) => {
    const target = frame();
    if (!target || !data.origin) {
      reject(new Error("nobody to ask"));
      return;
    }
    const id = subject + "-" + data.state;
    const late = setTimeout(() => end(reject, new Error("no answer")), 3000);
    function end(how, what) {
      clearTimeout(late);
      window.removeEventListener("message", hear);
      how(what);
    }
    function hear(event) {
      const m = event.data;
      if (event.origin !== data.origin || !m || m.subject !== subject + ".response" || m.message_id !== id) return;
      if (m.error) end(reject, new Error("refused"));
      else end(resolve, m.value);
    }
    window.addEventListener("message", hear);
    target.postMessage({ subject, message_id: id, key: "partwright-" + data.state, ...more }, data.origin);
  });
}

const steps = {
  // Whether it was kept or not, the login goes on: there may be a cookie.
  async store() {
    await ask("lti.put_data", { value: data.secret }).catch(() => {});
    window.location.replace(data.address);
  },
  async fetch() {
    const secret = await ask("lti.get_data", {}).catch(() => "");
    const form = document.getElementById("form");
    if (secret) {
      form.elements.browser.value = secret;
      form.submit();
      return;
    }
    document.getElementById("wait").hidden = true;
    document.getElementById("window").hidden = false;
  },
  window() {},
  error() {},
  return() {
    document.getElementById("form").submit();
  },
  // LTI Dynamic Registration 1.0: the window that opened the registration closes it.
  close() {
    (window.opener || window.parent).postMessage({ subject: "org.imsglobal.lti.close" }, "*");
  },
};
steps[data.page]();
