// A language for tests: every letter accented, every vowel doubled, in brackets. A text that still looks like English
// did not come from the catalogue; one whose end bracket is cut off had no room.

const plainLetters = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";
const accentedLetters = "áƀçđéƒğĥíĵķļɱñóþɋŕšŧúṽŵẋýžÁƁÇĐÉƑĞĤÍĴĶĻṀÑÓÞɊŔŠŦÚṼŴẊÝŽ";

function accented(text) {
  // Placeholders keep their names.
  return text
    .split(/(\{\w+\})/)
    .map((piece) =>
      piece.startsWith("{")
        ? piece
        : [...piece]
            .map((letter) => {
              const at = plainLetters.indexOf(letter);
              if (at < 0) return letter;
              const other = [...accentedLetters][at];
              return "aeiou".includes(letter) ? other + other : other;
            })
            .join(""),
    )
    .join("");
}

export function pseudo(catalogue) {
  const out = {};
  for (const [key, value] of Object.entries(catalogue)) {
    if (key === "locale") {
      out[key] = value;
    } else if (typeof value === "string") {
      out[key] = `⟦${accented(value)}⟧`;
    } else {
      out[key] = Object.fromEntries(Object.entries(value).map(([form, text]) => [form, `⟦${accented(text)}⟧`]));
    }
  }
  return out;
}
