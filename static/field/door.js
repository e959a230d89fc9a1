// On the other pages of a technician: the way to the page that works without signal, and visits leave the
// phone with their person.
import { get, wipe } from "./store.js";

// Somebody left without signal, and the server's cookie outlived it.
const leaving = await get("meta", "leaving"), out = document.querySelector('form[action="/sign-out"]');
if (leaving && out) out.submit();

document.querySelectorAll('nav a[href="/visits"]').forEach((link) => { if (navigator.serviceWorker) link.href = "/field"; });
// Who is asked to sign in has no session any more.
if (document.querySelector('form[action="/sign-in"]')) wipe();
for (const form of document.querySelectorAll('form[action="/sign-out"], form[action="/account/sign-outs"]')) {
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    try {
      await wipe();
    } finally {
      form.submit();
    }
  });
}
