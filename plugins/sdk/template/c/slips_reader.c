/* The reader `slips`: lines of name=value. README.md says what it takes and what it sets aside.
 *
 * Two things are kept between feeds, and no more: the bytes of a line whose end has not come, at
 * most max_record_bytes of them, and where the reader is (enum place). */
#include <girdle/reader.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* Where the next byte is. The numbers are in saved states. */
enum place {
  BETWEEN = 0,  /* at the beginning of a line */
  IN_LINE,      /* in a line that is kept */
  IN_COMMENT,   /* in a line that holds nothing */
  IN_LONG_LINE, /* in a line that is too long to keep: what came of it is set aside in pieces */
};

struct girdle_reader {
  const girdle_reader_host* host;
  uint64_t max_bytes, max_fields;
  char separator;

  enum place place;
  bool after_cr;  /* BETWEEN: an LF now belongs to the line end before it */
  uint64_t line;  /* the number of the line at hand */
  uint64_t begin; /* all before it is done with: where the line at hand begins, or its piece */
  uint64_t fed;
  girdle_status status; /* what the host last said */

  char* kept; /* IN_LINE: what earlier feeds had of the line */
  size_t kept_size, kept_room;
  /* The names of the line at hand, and behind field_room of them its values: at most max_fields. */
  girdle_text* names;
  size_t field_room;
  unsigned char state[12];
};

/* ---- texts ---- */

static girdle_text text_of(const char* bytes, size_t size) {
  const girdle_text text = {bytes, size};
  return text;
}

static bool equal(girdle_text a, girdle_text b) {
  return a.size == b.size && (a.size == 0 || memcmp(a.data, b.data, a.size) == 0);
}

/* The bytes of the character at the front; 0 where there is no well-formed one (RFC 3629). */
static size_t utf8_character(const unsigned char* at, size_t left) {
  if (at[0] < 0x80) return 1;
  const size_t size = at[0] >= 0xF0 ? 4 : at[0] >= 0xE0 ? 3 : 2;
  if (at[0] < 0xC2 || at[0] > 0xF4 || left < size) return 0;
  for (size_t i = 1; i < size; ++i) {
    if ((at[i] & 0xC0) != 0x80) return 0;
  }
  if ((at[0] == 0xE0 && at[1] < 0xA0) || (at[0] == 0xED && at[1] > 0x9F)) return 0;
  if ((at[0] == 0xF0 && at[1] < 0x90) || (at[0] == 0xF4 && at[1] > 0x8F)) return 0;
  return size;
}

static bool is_utf8(girdle_text text) {
  for (size_t at = 0; at < text.size;) {
    const size_t size = utf8_character((const unsigned char*)text.data + at, text.size - at);
    if (size == 0) return false;
    at += size;
  }
  return true;
}

/* ---- what the host is told ---- */

static void set_aside(girdle_reader* r, uint64_t length, const char* reason) {
  if (r->status != GIRDLE_OK) return;
  const girdle_aside aside = {sizeof aside, 0,       r->begin,
                              length,       r->line, text_of(reason, strlen(reason))};
  if (r->host->aside(r->host, &aside) != GIRDLE_OK) r->status = GIRDLE_STOP;
}

/* Room for one field more. */
static bool grow_fields(girdle_reader* r, size_t count) {
  if (count < r->field_room) return true;
  size_t room = r->field_room * 2 + 16;
  if (room > r->max_fields) room = (size_t)r->max_fields;
  girdle_text* const names = malloc(2 * room * sizeof *names);
  if (!names) return false;
  if (count > 0) {
    memcpy(names, r->names, count * sizeof *names);
    memcpy(names + room, r->names + r->field_room, count * sizeof *names);
  }
  free(r->names);
  r->names = names;
  r->field_room = room;
  return true;
}

/* Adds the field of a part of the line; gives why it is none, or NULL. */
static const char* take_field(girdle_reader* r, girdle_text part, size_t* count) {
  const char* const equals = part.size > 0 ? memchr(part.data, '=', part.size) : NULL;
  if (!equals || equals == part.data) return "a part of the line is not name=value";
  if (*count == r->max_fields) return "the line has more fields than are read";
  const girdle_text name = text_of(part.data, (size_t)(equals - part.data));
  for (size_t i = 0; i < *count; ++i) {
    if (equal(r->names[i], name)) return "the line has a name twice; which value counts?";
  }
  if (!grow_fields(r, *count)) {
    r->status = GIRDLE_FAILED;
    return NULL;
  }
  r->names[*count] = name;
  r->names[r->field_room + *count] = text_of(equals + 1, part.size - name.size - 1);
  ++*count;
  return NULL;
}

static const char* take_fields(girdle_reader* r, girdle_text line, size_t* count) {
  if (!is_utf8(line)) return "the line is not UTF-8";
  for (;;) {
    const char* const end = memchr(line.data, r->separator, line.size);
    const size_t size = end ? (size_t)(end - line.data) : line.size;
    const char* const fault = take_field(r, text_of(line.data, size), count);
    if (fault || r->status != GIRDLE_OK || !end) return fault;
    line = text_of(end + 1, line.size - size - 1);
    if (line.size == 0) return "a part of the line is not name=value";
  }
}

static void emit(girdle_reader* r, girdle_text line) {
  size_t count = 0;
  const char* const fault = take_fields(r, line, &count);
  if (fault) set_aside(r, line.size, fault);
  if (fault || r->status != GIRDLE_OK) return;
  const girdle_record record = {sizeof record, 0,     r->begin, line.size,
                                r->line,       count, r->names, r->names + r->field_room};
  if (r->host->emit(r->host, &record) != GIRDLE_OK) r->status = GIRDLE_STOP;
}

/* ---- lines ---- */

static const char* const too_long = "the line is longer than is read";

static bool keep(girdle_reader* r, const char* bytes, size_t size) {
  if (size > r->kept_room - r->kept_size) {
    size_t room = r->kept_room * 2 + 256;
    if (room < r->kept_size + size) room = r->kept_size + size;
    char* const kept = realloc(r->kept, room);
    if (!kept) return false;
    r->kept = kept;
    r->kept_room = room;
  }
  memcpy(r->kept + r->kept_size, bytes, size);
  r->kept_size += size;
  return true;
}

/* The next bytes of the line at hand; `ends`: and its last. */
static void take_part(girdle_reader* r, const char* bytes, size_t size, bool ends) {
  while (r->status == GIRDLE_OK && size > 0 && r->place != IN_COMMENT) {
    /* In IN_LONG_LINE the bytes of the piece at hand are counted, not kept. */
    const size_t room = (size_t)r->max_bytes - r->kept_size;
    if (size <= room) break;
    r->place = IN_LONG_LINE;
    set_aside(r, r->max_bytes, too_long);
    r->begin += r->max_bytes;
    r->kept_size = 0;
    bytes += room;
    size -= room;
  }
  if (r->status != GIRDLE_OK || r->place == IN_COMMENT) return;
  if (r->place == IN_LONG_LINE) {
    r->kept_size += size;
  } else if (ends && r->kept_size == 0) {
    if (size > 0) emit(r, text_of(bytes, size)); /* lent as it was fed: nothing is copied */
  } else if (!keep(r, bytes, size)) {
    r->status = GIRDLE_FAILED;
  } else if (ends) {
    emit(r, text_of(r->kept, r->kept_size));
  }
}

/* The line at hand ends; all before `offset` is done with. */
static void line_ended(girdle_reader* r, uint64_t offset) {
  if (r->place == IN_LONG_LINE && r->kept_size > 0) set_aside(r, r->kept_size, too_long);
  r->begin = offset;
  r->kept_size = 0;
  r->place = BETWEEN;
}

static size_t line_size(const char* bytes, size_t size) {
  for (size_t i = 0; i < size; ++i) {
    if (bytes[i] == '\n' || bytes[i] == '\r') return i;
  }
  return size;
}

static girdle_status feed(girdle_reader* r, const void* fed, size_t size) {
  const char* const bytes = fed;
  for (size_t at = 0; at < size && r->status == GIRDLE_OK;) {
    if (r->place == BETWEEN) {
      if (r->after_cr && bytes[at] == '\n') ++at, ++r->begin;
      r->after_cr = false;
      if (at == size) break;
      r->place = bytes[at] == '#' ? IN_COMMENT : IN_LINE;
    }
    const size_t part = line_size(bytes + at, size - at);
    const bool ends = at + part < size;
    take_part(r, bytes + at, part, ends);
    if (r->status != GIRDLE_OK) break;
    at += part;
    if (ends) {
      line_ended(r, r->fed + at + 1);
      r->after_cr = bytes[at] == '\r';
      ++r->line;
      ++at;
    }
    if (r->place == IN_COMMENT) r->begin = r->fed + at;
  }
  r->fed += size;
  return r->status;
}

static girdle_status finish(girdle_reader* r) {
  if (r->place == IN_LINE) emit(r, text_of(r->kept, r->kept_size));
  if (r->status == GIRDLE_OK) line_ended(r, r->fed);
  return r->status;
}

static uint64_t consumed(const girdle_reader* r) { return r->begin; }

/* ---- the saved state: of version 1, with this separator; a place, a flag, a line number ---- */

static girdle_status save(girdle_reader* r, girdle_text* state) {
  /* `consumed` is where the line at hand begins, so that is the place to describe. */
  r->state[0] = 1;
  r->state[1] = (unsigned char)r->separator;
  r->state[2] = (unsigned char)(r->place == IN_LINE ? BETWEEN : r->place);
  r->state[3] = r->after_cr;
  for (int i = 0; i < 8; ++i) r->state[4 + i] = (unsigned char)(r->line >> (8 * i));
  *state = text_of((const char*)r->state, sizeof r->state);
  return GIRDLE_OK;
}

static bool resume(girdle_reader* r, girdle_text state) {
  if (state.size == 0) return true;
  if (state.size != sizeof r->state) return false;
  const unsigned char* const from = (const unsigned char*)state.data;
  if (from[0] != 1 || from[1] != (unsigned char)r->separator || from[3] > 1) return false;
  if (from[2] > IN_LONG_LINE || from[2] == IN_LINE) return false;
  r->place = (enum place)from[2];
  r->after_cr = from[3];
  r->line = 0;
  for (int i = 7; i >= 0; --i) r->line = r->line << 8 | from[4 + i];
  return true;
}

/* ---- life ---- */

static girdle_reader* refuse(const girdle_reader_host* host, girdle_reader* r, const char* reason) {
  host->refuse(host, text_of(reason, strlen(reason)));
  free(r);
  return NULL;
}

/* The option `separator`; NUL where it will not do. */
static char separator_of(const girdle_reader_setup* setup) {
  for (size_t i = 0; i < setup->option_count; ++i) {
    const girdle_text value = setup->options[i].value;
    if (!equal(setup->options[i].name, text_of("separator", 9))) continue;
    if (equal(value, text_of("tab", 3)) || equal(value, text_of("\\t", 2))) return '\t';
    const bool one = value.size == 1 &&
                     (value.data[0] == '\t' || (value.data[0] >= ' ' && value.data[0] <= '~'));
    return one && !strchr("=#", value.data[0]) ? value.data[0] : '\0';
  }
  return ';';
}

static girdle_reader* create(const girdle_reader_host* host, const girdle_reader_setup* setup) {
  girdle_reader* const r = calloc(1, sizeof *r);
  if (!r) return refuse(host, r, "there is no memory for a reader");
  r->host = host;
  r->max_bytes = setup->max_record_bytes;
  r->max_fields = setup->max_fields;
  r->separator = separator_of(setup);
  r->line = 1;
  if (r->max_bytes < 64 || r->max_fields < 1)
    return refuse(host, r, "the limits are too small: at least 64 bytes and 1 field a record");
  if (r->max_bytes > UINT64_C(1) << 30) r->max_bytes = UINT64_C(1) << 30;
  if (r->separator == '\0')
    return refuse(host, r, "option separator must be a tab or printable ASCII, and not = or #");
  if (!resume(r, setup->resume))
    return refuse(
        host, r,
        "the saved state is not of this reader with this separator; read the document anew");
  return r;
}

static void destroy(girdle_reader* r) {
  free(r->kept);
  free(r->names);
  free(r);
}

static const void* extension(const char* id) {
  (void)id;
  return NULL;
}

/* ---- the library ---- */

girdle_status girdle_reader_negotiate(uint32_t host_min, uint32_t host_max, uint32_t* chosen) {
  if (host_min > GIRDLE_READER_ABI || host_max < GIRDLE_READER_ABI) return GIRDLE_UNSUPPORTED;
  *chosen = GIRDLE_READER_ABI;
  return GIRDLE_OK;
}

const girdle_reader_descriptor* girdle_reader_descriptor_at(uint32_t index) {
  static const girdle_reader_descriptor slips = {
      sizeof slips, 0, "slips", "0.1.0", create, feed, finish, consumed, save, destroy, extension};
  return index == 0 ? &slips : NULL;
}
