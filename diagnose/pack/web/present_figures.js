// Numbers as people read them; the twin of diagnose/present/figures.py. Every present_*.js gives plain objects with
// the fields of the record of the same name there, so that what is shown is one decision; ui_*.js only lay them out.

const minutesSays = (number) => say("present.minutes", { number: general(number) });
const roundedSays = (number) => say("present.minutes", { number: fixed(number, 0).replace(/^-0$/, "0") });

// '+13': 10 is ten times as likely. Neither ever shows a minus nought.
function weightSays(decibans, places = 0) {
  const size = fixed(Math.abs(decibans), places);
  return (decibans < 0 && Number(size) ? "-" : "+") + size;
}
