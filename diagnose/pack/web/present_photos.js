// The pictures of a visit in words: what each belongs to, what was said of it, who attached it.

const photoLines = (kb, session) => shownPhotos(session).map((photo) => [
  say("present.photo", { name: photo.name, of: photoBelongs(kb, session, photo) }), photo.says, photo.by,
].filter(Boolean).join("; "));

// What a picture belongs to.
function photoBelongs(kb, { setup }, { of, which, value, words }) {
  if (of === "visit") return say("present.photo_of_visit");
  if (of !== "answer") return say(`present.photo_of_${of}`, { cause: kb.causes.get(which).says });
  const check = kb.checks.get(which);
  const said = answerSays(check, { value, sure: true, note: words }, setup.role);
  return say("present.answered", { asked: askText(check, setup.role), said });
}
