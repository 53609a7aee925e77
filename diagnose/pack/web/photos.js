// Pictures that are attached to a visit elsewhere: this page has none of the files, and keeps what is said of them.

const isPhotoName = (name) => /^[0-9a-f]{16}\.jpg$/.test(name);

// Whether there is such a thing on this visit as the picture is said to belong to.
function mayBelong(kb, session, of, which) {
  switch (of) {
    case "visit": return !which;
    case "answer": return answerTo(session, which) !== null;
    case "remedy": return kb.causes.has(which);
    case "proof": return session.repairs.some(({ cause }) => cause === which);
    default: return false;
  }
}

// Kept whatever else is taken back; the same picture of the same thing counts once.
function pictured(_kb, session, { name, of, which = "", says = "", by = "" }) {
  const answer = of === "answer" ? answerTo(session, which) : null;
  const value = answer?.value ?? "";
  const same = (p) => p.name === name && p.of === of && p.which === which && p.value === value
    && p.words === elseWords(answer);
  if (session.photos.some(same)) return session;
  return { ...session, photos: [...session.photos, { name, of, which, value, says, by: by || session.by, words: elseWords(answer) }] };
}

// Those that belong to something still: not to an answer or a repair that was taken back or corrected.
function shownPhotos(session) {
  const answers = [...given(session), ...session.attempts.flatMap((t) => [...t.carried, ...t.answers])];
  return session.photos.filter(({ of, which, value }) => {
    if (of === "answer") return answers.some((a) => a.check === which && a.value === value);
    return of !== "proof" || session.repairs.some(({ cause }) => cause === which);
  });
}
