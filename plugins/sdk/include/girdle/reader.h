/* The reader ABI: what a reader library and its host say to each other. C11, usable from C++,
 * without any dependency.
 *
 * A reader is a pure function of bytes and options: document in, raw records (field name, text)
 * out. It opens no files and no sockets, starts no threads, asks no clock, no environment and no
 * locale, writes to no stream, and ends the process on no input. The same bytes and options give
 * the same records, however the bytes are cut into feeds.
 *
 * A library exports two functions and nothing else:
 *
 * - girdle_reader_negotiate: which version of this ABI both sides speak; called first;
 * - girdle_reader_descriptor_at: the readers in the library, by index from 0.
 *
 * Beside the library lies its manifest, NAME.reader.yaml, which the host reads before it loads any
 * code: name, version, abi, library, summary, and the options with type, default and choices (see
 * the SDK's README.md).
 *
 * The life of one document:
 *
 * 1. create(host, setup): a reader, or NULL after host->refuse(reason);
 * 2. feed(reader, bytes, size): any number of times, in any pieces, empty ones too;
 * 3. finish(reader): for a whole document, whose end is known. Once;
 * 4. destroy(reader): always, also after a failure or a stop.
 *
 * A document that still grows is not finished. After the feeds the host asks `consumed` and `save`,
 * destroys the reader, and later creates another with the saved state and feeds it from the byte at
 * `consumed` on.
 *
 * Sizes: every struct below that begins with `size` is set to sizeof by the side that fills it, and
 * only ever grows at its end. The side that reads it looks at no member that lies beyond that size.
 * girdle_text and girdle_option lie in arrays; they have no size and never change.
 *
 * Memory: all of it is lent, never given. What an argument points to is valid until the call
 * returns and no longer; who wants to keep it copies it. Two things live longer: the host struct,
 * until destroy returns; a descriptor and what it points to, until the library is unloaded.
 *
 * Text: pointer and length, UTF-8, no NUL terminator. A text may hold any character, also U+0000
 * and line ends. An empty text may have a null pointer. `const char*` members are NUL-terminated
 * ASCII.
 *
 * Threads: one reader is used by one thread at a time, not always the same one. Different readers
 * of one library are used at the same time: a library has no writable state outside its readers.
 *
 * Failures: no exception, longjmp or signal leaves either side. What the input may cause is told by
 * `aside` or `refuse`. After GIRDLE_STOP or GIRDLE_FAILED only destroy may follow.
 *
 * Bounds: what a reader holds is bounded by setup->max_record_bytes and max_fields times a small
 * constant, whatever the document is and however long it is.
 *
 * `girdled vet` tells an author what of this a reader does not keep.
 */
#ifndef GIRDLE_READER_H
#define GIRDLE_READER_H

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The version that this header describes. It changes only when an older side could misread a newer
 * one; members at the end of a struct and extensions do not change it. */
#define GIRDLE_READER_ABI 1u

#if defined(__GNUC__) || defined(__clang__)
#define GIRDLE_READER_EXPORT __attribute__((visibility("default")))
#else
#define GIRDLE_READER_EXPORT
#endif

typedef int32_t girdle_status;

enum {
  /* Go on. */
  GIRDLE_OK = 0,
  /* From emit and aside: the host wants no more. The reader returns it from feed or finish at once,
   * and calls the host no more. */
  GIRDLE_STOP = 1,
  /* From feed, finish, save: the reader itself cannot go on (out of memory, a fault of its own).
   * The host puts the whole document aside; what was emitted before does not count. */
  GIRDLE_FAILED = 2,
  /* From negotiate: no version in common. */
  GIRDLE_UNSUPPORTED = 3
};

typedef struct girdle_text {
  const char* data;
  size_t size; /* bytes */
} girdle_text;

/* One option of the intake's configuration. The host has checked it against the manifest: the name
 * is one of the manifest's, the value fits its type; options left out are passed with the
 * manifest's default where it has one. An `integer` comes as decimal digits with an optional '-', a
 * `boolean` as "true" or "false", a `character` as the character itself or as one of the words that
 * the manifest's summary names, a `choice` as one of its choices. */
typedef struct girdle_option {
  girdle_text name;
  girdle_text value;
} girdle_option;

/* One raw record. */
typedef struct girdle_record {
  uint32_t size;
  /* Equal numbers other than 0 within one reader's life mean: the same count, and the same names in
   * the same order. So the host finds its fields once for a layout. 0 promises nothing. */
  uint32_t layout;
  /* The record's bytes: where they begin, counted from the first byte fed to this reader, and how
   * many, without the line end or separator that follows. Every byte of every feed counts, a byte
   * order mark too. */
  uint64_t offset;
  uint64_t length;
  /* The line on which the record begins, 1 for the document's first; goes on through a saved state.
   * 0 = unknown. */
  uint64_t line;
  /* names[i] is the name of values[i]. No name comes twice. A field without a value is left out; an
   * empty text is a value. Numbers are the document's own text, never converted. */
  size_t count;
  const girdle_text* names;
  const girdle_text* values;
} girdle_record;

/* A stretch of the document that is no record, and why. */
typedef struct girdle_aside {
  uint32_t size;
  uint32_t reserved; /* 0 */
  uint64_t offset;   /* as in girdle_record */
  uint64_t length;   /* 0 where the fault is that something is missing */
  uint64_t line;
  girdle_text reason; /* one line for a shop's administrator, without place: what is wrong, what
                         would be right */
} girdle_aside;

typedef struct girdle_reader_host girdle_reader_host;

/* What the host offers. The functions may be called only inside the calls named with each. */
struct girdle_reader_host {
  uint32_t size;
  uint32_t abi;  /* the version chosen by girdle_reader_negotiate */
  void* context; /* the host's own; the reader does not touch it */

  /* Inside feed and finish: takes one record. Records and asides together come in the order of
   * their offsets and do not overlap. Anything but GIRDLE_OK: see GIRDLE_STOP. */
  girdle_status (*emit)(const girdle_reader_host* host, const girdle_record* record);

  /* Inside feed and finish: a stretch of which no record can be made (a ragged row, a broken quote,
   * bytes that are not of the encoding, text that is not JSON, more than max_record_bytes or
   * max_fields). Reading goes on after it. A stretch longer than max_record_bytes comes in several
   * asides that follow each other, each but the last max_record_bytes long. Bytes that are in no
   * record and in no aside hold nothing (separators, blank lines, comments, the header, the
   * wrapping of records): nothing of a document is lost in silence. */
  girdle_status (*aside)(const girdle_reader_host* host, const girdle_aside* aside);

  /* Inside create: why there will be no reader (options that do not go together, a state that is
   * not its own). One line for a shop's administrator. Called once, then create returns NULL. */
  void (*refuse)(const girdle_reader_host* host, girdle_text reason);

  /* At any time: an extension of the host, a struct that begins with its size; NULL where the host
   * has it not. None is defined in version 1. An id names its author and its version:
   * "girdle.progress/1". */
  const void* (*extension)(const girdle_reader_host* host, const char* id);
};

/* What create is given. */
typedef struct girdle_reader_setup {
  uint32_t size;
  uint32_t reserved; /* 0 */
  /* A record of more bytes, or with more fields, is put aside. At least 64 and 1; a reader refuses
   * less, and may take more than 1 GiB for 1 GiB. */
  uint64_t max_record_bytes;
  uint64_t max_fields;
  size_t option_count;
  const girdle_option* options;
  /* What an earlier reader saved, with the same options, where the fed bytes go on after its
   * `consumed`. Empty at the beginning of a document. */
  girdle_text resume;
} girdle_reader_setup;

typedef struct girdle_reader girdle_reader; /* the library's own */

/* One reader of a library. All functions are there; none is NULL. */
typedef struct girdle_reader_descriptor {
  uint32_t size;
  uint32_t reserved;   /* 0 */
  const char* name;    /* as in the manifest: [a-z0-9-]+ */
  const char* version; /* of the reader, as in the manifest */

  /* NULL after host->refuse. */
  girdle_reader* (*create)(const girdle_reader_host* host, const girdle_reader_setup* setup);

  /* Takes the next bytes. Every record is emitted as soon as its end is certain; a record may point
   * into `bytes` while emit runs. GIRDLE_OK, GIRDLE_STOP or GIRDLE_FAILED. */
  girdle_status (*feed)(girdle_reader* reader, const void* bytes, size_t size);

  /* No more bytes will ever follow: emits a last record that has no end of its own, or puts aside
   * what is cut off. */
  girdle_status (*finish)(girdle_reader* reader);

  /* How many of the fed bytes are done with: each lies in a record that was emitted, in an aside,
   * or holds nothing. The rest is the beginning of something whose end has not come. Never less
   * than before, nor than the end of what was emitted or put aside; after finish it is all. */
  uint64_t (*consumed)(const girdle_reader* reader);

  /* What a later reader needs to go on at `consumed`: the header, the line number and the like;
   * opaque to the host, with a version of its own inside. It depends on the bytes and options
   * alone. Lent until the next call with this reader, which may be another feed: save changes
   * nothing. May be empty: then nothing is needed. GIRDLE_OK or GIRDLE_FAILED. */
  girdle_status (*save)(girdle_reader* reader, girdle_text* state);

  void (*destroy)(girdle_reader* reader);

  /* An extension of the reader, as in the host; none is defined in version 1. */
  const void* (*extension)(const char* id);
} girdle_reader_descriptor;

/* Chooses the newest version in host_min..host_max that the library speaks too. GIRDLE_OK and
 * *chosen, or GIRDLE_UNSUPPORTED and *chosen untouched. The host calls nothing else of the library
 * before it. */
GIRDLE_READER_EXPORT girdle_status girdle_reader_negotiate(uint32_t host_min, uint32_t host_max,
                                                           uint32_t* chosen);

/* The reader number `index`, NULL past the last. The same pointer at every call. */
GIRDLE_READER_EXPORT const girdle_reader_descriptor* girdle_reader_descriptor_at(uint32_t index);

#ifdef __cplusplus
} /* extern "C" */
#endif

#endif /* GIRDLE_READER_H */
