// A reader that does wrong what its option `behaviour` says; with `good` it does all right: a line
// is a record with the field "text", and one that is too long, or begins with '!', is set aside.
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <fstream>
#include <girdle/reader.hpp>
#include <memory>
#include <stdexcept>
#include <thread>
#include <vector>

namespace kit = girdle::kit;

// What a library must not have.
static int documents_in_all = 0;
static std::atomic<int> feeds_at_once = 0;
static std::string shared_line;
static thread_local int feeds_of_this_thread = 0;

struct girdle_reader {
  const girdle_reader_host* host = nullptr;
  std::string behaviour;
  uint64_t max_bytes = 0, max_fields = 0;
  const girdle_option* kept_options = nullptr;

  std::string line;      // at hand
  bool is_long = false;  // what came of it is set aside in pieces
  uint64_t begin = 0;    // of the line at hand, or its piece
  uint64_t fed = 0, number = 1, feeds = 0, told = 0, told_end = 0;
  const char* kept_bytes = nullptr;
  bool stopped = false, saw_nul = false;
  std::string state, hoard;

  struct Line {
    uint64_t begin, number;
    std::string text;
  };
  std::vector<Line> late;  // lines that are told with the next feed

  bool is(const char* name) const { return behaviour == name; }
};

namespace {

girdle_status emit(girdle_reader& r, girdle_record& record) {
  girdle_reader_host other = *r.host;
  const girdle_reader_host* const host = r.is("other_host") ? &other : r.host;
  girdle_status status = GIRDLE_OK;
  if (r.is("emits_on_a_thread")) {
    std::thread([&] { status = host->emit(host, &record); }).join();
  } else {
    status = host->emit(host, r.is("null_record") ? nullptr : &record);
  }
  ++r.told;
  r.told_end = record.offset + record.length;
  if (status == GIRDLE_OK) return GIRDLE_OK;
  if (r.is("goes_on_after_stop")) host->emit(host, &record);
  if (r.is("ignores_stop")) return GIRDLE_OK;
  r.stopped = true;
  return r.is("fails_at_stop") ? GIRDLE_FAILED : GIRDLE_STOP;
}

girdle_status put_aside(girdle_reader& r, uint64_t length, std::string_view reason) {
  girdle_aside aside{sizeof(girdle_aside), 0, r.begin, length, r.number, kit::lend(reason)};
  if (r.is("small_aside")) aside.size = 4;
  if (r.is("aside_beyond")) aside.offset += 1000;
  if (r.is("aside_backwards")) aside.offset = 0;
  if (r.is("reserved_aside")) aside.reserved = 1;
  if (r.is("no_reason")) aside.reason = {};
  if (r.is("reason_of_two_lines")) aside.reason = kit::lend("this\nand that");
  if (r.is("lost_reason")) aside.reason = {nullptr, 9};
  girdle_status status = r.host->aside(r.host, &aside);
  while (status == GIRDLE_OK && r.is("flood")) {
    aside.offset += aside.length;
    aside.length = 0;
    status = r.host->aside(r.host, &aside);
  }
  ++r.told;
  r.told_end = r.begin + length;
  return status == GIRDLE_OK ? GIRDLE_OK : GIRDLE_STOP;
}

// What is wrong with a record, and harms its host at most.
void bend(girdle_reader& r, girdle_record& record, girdle_text* names, girdle_text* values) {
  static const std::string kMuch(1 << 20, 'x');
  const auto& b = r.behaviour;
  if (b == "small_record") record.size = 8;
  if (b == "null_names") record.names = nullptr;
  if (b == "lost_value") values[0] = {nullptr, 5};
  if (b == "value_that_cannot_be_read") values[0] = {reinterpret_cast<const char*>(64), 5};
  if (b == "endless_value") values[0].size = SIZE_MAX / 2;
  if (b == "value_not_utf8") values[0] = kit::lend("caf\xE9");
  if (b == "empty_record") record.length = 0;
  if (b == "beyond") record.offset += 1000;
  if (b == "line_end_too_many") record.length += 40;
  if (b == "wraps") record.offset = UINT64_MAX - 1;
  if (b == "backwards" && r.told > 0) record.offset = 0;
  if (b == "wrong_line") record.line += 1;
  if (b == "lines_go_back") record.line = 100 - r.told;
  if (b == "name_twice") record.count = 2, names[1] = names[0], record.layout = 2;
  if (b == "other_layout" && r.told % 2 == 1) names[0] = kit::lend("other");
  if (b == "clock")
    values[0] = kit::lend(std::to_string(time(nullptr)).append(r.line)), record.layout = 0;
}

girdle_status tell_line(girdle_reader& r, std::string_view line) {
  if (r.is("says_nothing")) return GIRDLE_OK;
  const bool off_by_one = r.is("limit_off_by_one") && line.size() == r.max_bytes;
  if (line.empty()) return GIRDLE_OK;
  if (line[0] == '!' || off_by_one) return put_aside(r, line.size(), "it begins with !");
  const bool utf8 = kit::is_utf8(line);
  if (!utf8) return put_aside(r, line.size(), "it is not UTF-8");
  girdle_text names[2] = {kit::lend("text"), kit::lend("more")};
  girdle_text values[2] = {kit::lend(line), kit::lend("x")};
  std::string counted;
  if (r.is("counts_documents")) counted = std::to_string(documents_in_all);
  if (r.is("counts_on_threads")) counted = std::to_string(feeds_of_this_thread);
  if (r.is("unwritten_memory")) {
    char* volatile fresh = static_cast<char*>(malloc(400));
    counted = std::to_string(fresh[200]);
    free(fresh);
  }
  if (r.is("environment")) counted = getenv("TZ") ? getenv("TZ") : "";
  if (r.is("minds_others") && feeds_at_once > 1) counted = "not alone";
  if (!counted.empty()) values[0] = kit::lend(counted);
  girdle_record record{sizeof(girdle_record), 1, r.begin, line.size(), r.number, 1, names, values};
  std::vector<girdle_text> many(3000, kit::lend("x"));
  bend(r, record, names, values);
  if (r.is("too_many_fields")) {
    record.count = many.size();
    record.names = record.values = many.data();
  }
  return emit(r, record);
}

// The line at hand has ended; what follows begins at `next`.
girdle_status line_ended(girdle_reader& r, uint64_t next) {
  girdle_status status = GIRDLE_OK;
  if (r.is("long_asides") && r.line.size() > r.max_bytes) {
    status = put_aside(r, r.line.size(), "it is too long");
  } else if (r.is_long) {
    if (!r.line.empty()) status = put_aside(r, r.line.size(), "it is too long");
  } else if (r.is("late")) {
    r.late.push_back({r.begin, r.number, r.line});
  } else {
    status = tell_line(r, r.is("one_line_for_all") ? shared_line : r.line);
  }
  r.begin = next;
  if (!r.is("forgets_lines")) ++r.number;
  r.line.clear();
  if (r.is("one_line_for_all")) shared_line.clear();
  r.is_long = false;
  return status;
}

girdle_status tell_late_lines(girdle_reader& r) {
  const uint64_t begin = r.begin, number = r.number;
  girdle_status status = GIRDLE_OK;
  for (const girdle_reader::Line& line : r.late) {
    r.begin = line.begin;
    r.number = line.number;
    if (status == GIRDLE_OK) status = tell_line(r, line.text);
  }
  r.late.clear();
  r.begin = begin;
  r.number = number;
  return status;
}

void trouble(girdle_reader& r, std::string_view bytes) {
  static char sink;
  const auto& b = r.behaviour;
  if (b == "crashes") *reinterpret_cast<volatile char*>(16) = 1;
  if (b == "asserts") std::fprintf(stderr, "wayward: 1 == 2 does not hold\n"), abort();
  if (b == "hangs")
    for (volatile bool on = true; on;) {
    }
  if (b == "sleeps_for_ever")
    for (;;) sleep(1);
  if (b == "exits") exit(0);
  if (b == "throws") throw std::runtime_error("no");
  if (b == "throws_a_number") throw 7;
  if (b == "reads_behind") sink = sink + bytes.data()[bytes.size()];
  if (b == "reads_an_earlier_feed" && r.kept_bytes) sink = sink + *r.kept_bytes;
  if (b == "reads_the_options_later") sink = sink + r.kept_options->name.data[0];
  if (b == "opens_a_file") std::ifstream("/etc/hostname").get();
  if (b == "opens_a_socket") close(socket(AF_INET, SOCK_STREAM, 0));
  if (b == "starts_a_thread") std::thread([] {}).join();
  if (b == "refuses_late") r.host->refuse(r.host, kit::lend("not this one"));
  if (b == "prints") std::printf("reading %zu bytes\n", bytes.size()), std::fflush(stdout);
  const bool nul = bytes.find('\0') != std::string_view::npos;
  if (b == "crashes_at_nul" && nul) abort();
  if (b == "hangs_at_nul" && nul)
    for (volatile bool on = true; on;) {
    }
  if (b == "breach_at_nul" && nul) r.host->emit(r.host, nullptr);
}

girdle_status take(girdle_reader& r, const char* at) {
  const bool is_bounded = !r.is("ignores_limits") && !r.is("holds_back") && !r.is("long_asides");
  if (r.line.size() == r.max_bytes && *at != '\n' && is_bounded) {
    const girdle_status status = put_aside(r, r.max_bytes, "it is too long");
    r.begin += r.max_bytes;
    r.line.clear();
    r.is_long = true;
    if (status != GIRDLE_OK) return status;
  }
  if (*at != '\n') {
    r.line += *at;
    if (r.is("one_line_for_all")) shared_line += *at;
    return GIRDLE_OK;
  }
  return line_ended(r, r.fed + 1);
}

// Counts the feeds that run, and makes them long enough to be at the same time.
struct Together {
  explicit Together(bool is_on) : on(is_on) {
    if (on) ++feeds_at_once, usleep(1000);
  }
  ~Together() {
    if (on) --feeds_at_once;
  }
  const bool on;
};

girdle_status feed(girdle_reader* own, const void* bytes, size_t size) {
  const Together together(own->is("minds_others"));
  girdle_reader& r = *own;
  const char* const from = static_cast<const char*>(bytes);
  ++r.feeds;
  ++feeds_of_this_thread;
  if (r.is("gives_up")) return GIRDLE_FAILED;
  if (size > 0) trouble(r, {from, size});
  if (size > 0 && from[0] == '\0' && r.is("minds_feeds_at_nul") && !r.line.empty()) {
    if (const girdle_status status = line_ended(r, r.fed); status != GIRDLE_OK) return status;
  }
  r.saw_nul |= std::string_view(from, size).find('\0') != std::string_view::npos;
  if (r.is("hoards")) r.hoard.append(from, size);
  if (r.is("quadratic")) {
    r.hoard.append(from, size);
    for (volatile char c : r.hoard) (void)c;
  }
  if (const girdle_status status = tell_late_lines(r); status != GIRDLE_OK) return status;
  for (size_t i = 0; i < size; ++i, ++r.fed) {
    if (const girdle_status status = take(r, from + i); status != GIRDLE_OK) return status;
  }
  r.kept_bytes = from;
  if (r.is("pieces_of_feeds") && r.is_long && !r.line.empty()) {
    const uint64_t piece = r.line.size();
    r.line.clear();
    const girdle_status status = put_aside(r, piece, "it is too long");
    r.begin += piece;
    if (status != GIRDLE_OK) return status;
  }
  if (r.is("ends_lines_with_feeds") && !r.line.empty()) return line_ended(r, r.fed);
  if (r.is("minds_empty_feeds") && size == 0 && !r.line.empty()) return line_ended(r, r.fed);
  if (r.is("stops_unasked")) return GIRDLE_STOP;
  return r.is("odd_status") ? 77 : GIRDLE_OK;
}

girdle_status finish(girdle_reader* r) {
  const girdle_status status = tell_late_lines(*r);
  if (r->is("late")) r->behaviour = "good";
  if (status != GIRDLE_OK || r->is("never_finishes")) return status;
  return r->line.empty() ? GIRDLE_OK : line_ended(*r, r->fed);
}

uint64_t consumed(const girdle_reader* r) {
  if (r->is("done_too_early")) return r->fed + 1;
  if (r->is("goes_back")) return r->feeds % 2 == 0 ? 0 : r->fed;
  if (r->is("never_done")) return 0;
  if (r->is("throws_in_consumed")) throw 7;
  if (r->is("consumed_of_feeds") && r->feeds == 1) return r->told_end;
  return r->late.empty() ? r->begin : r->late.front().begin;
}

girdle_status save(girdle_reader* r, girdle_text* state) {
  if (r->is("cannot_save")) return GIRDLE_FAILED;
  if (r->is("emits_in_save")) {
    girdle_record record{sizeof(girdle_record), 0, r->begin, 1, 1, 0, nullptr, nullptr};
    r->host->emit(r->host, &record);
  }
  const bool forgets = r->is("forgets_long_lines");
  const uint64_t number = r->number + (r->is("forgets_lines_with_nul") && r->saw_nul ? 1 : 0);
  r->state = std::to_string(number) + (r->is_long && !forgets ? "+" : "-");
  if (r->is("state_of_feeds")) r->state += std::to_string(r->feeds);
  if (r->is("saves_nothing")) r->state.clear();
  if (r->is("state_of_saves")) r->state += std::to_string(++r->told);
  if (r->is("save_ends_the_line")) r->line.clear();
  *state = kit::lend(r->state);
  if (r->is("lost_state")) *state = {nullptr, 9};
  return GIRDLE_OK;
}

bool resume(girdle_reader& r, std::string_view state) {
  if (state.empty()) return true;
  if (r.is("refuses_its_state")) return false;
  if (r.is("trusts_its_state")) {
    static const char kKinds[] = {'-', '+'};
    // The number is used as it stands, and so is memory at it.
    const char* const at = kKinds + (std::atoll(state.data()) << 40);
    static volatile char sink;
    if (state.back() != '-' && state.back() != '+') sink = sink + *at;
  }
  char* end = nullptr;
  const std::string text(state);
  r.number = std::strtoull(text.c_str(), &end, 10);
  r.is_long = end != text.c_str() && *end == '+';
  const bool whole = end + 1 == text.c_str() + text.size();
  return r.number > 0 && whole && (*end == '+' || *end == '-');
}

girdle_reader* refuse(const girdle_reader_host* host, girdle_reader* r, std::string_view reason) {
  host->refuse(host, kit::lend(reason));
  delete r;
  return nullptr;
}

girdle_reader* create(const girdle_reader_host* host, const girdle_reader_setup* setup) {
  auto* const r = new girdle_reader;
  r->host = host;
  r->behaviour = kit::option(*setup, "behaviour");
  r->max_bytes = std::min(setup->max_record_bytes, kit::kMostRecordBytes);
  r->max_fields = setup->max_fields;
  r->kept_options = setup->options;
  const std::string width(kit::option(*setup, "width"));
  if (r->is("counts_documents")) ++documents_in_all;
  const bool small = !kit::wrong_limits(*setup).empty();
  if (small && !r->is("takes_any_limits")) return refuse(host, r, kit::wrong_limits(*setup));
  if (r->is("reserves_all") && setup->max_record_bytes > kit::kMostRecordBytes)
    return refuse(host, r, "no memory");
  if (r->is("refuses")) return refuse(host, r, "this cannot be");
  if (r->is("refuses_in_two_lines")) return refuse(host, r, "this\ncannot be");
  if (r->is("refuses_twice")) host->refuse(host, kit::lend("first"));
  if (r->is("refuses_twice")) return refuse(host, r, "second");
  if (r->is("refuses_and_lives")) host->refuse(host, kit::lend("no, or yes"));
  if (r->is("knows_one_size") && setup->size != sizeof *setup) return refuse(host, r, "what size?");
  if (r->is("trusts_its_options")) {
    // The number is used as it stands, and so is memory at it.
    const char* volatile widths = width.data();
    r->saw_nul = widths[(std::atoll(width.c_str()) - 1) << 40] == '\0';
  }
  if (r->is("emits_in_create")) {
    girdle_record record{sizeof(girdle_record), 0, 0, 1, 1, 0, nullptr, nullptr};
    host->emit(host, &record);
  }
  if (!resume(*r, kit::view(setup->resume))) return refuse(host, r, "the state is not its own");
  if (r->is("refuses_in_silence")) return delete r, nullptr;
  return r;
}

void destroy(girdle_reader* r) {
  if (!r->is("leaks")) delete r;
}

const void* extension(const char*) { return nullptr; }

constexpr girdle_reader_descriptor kWayward = {sizeof(girdle_reader_descriptor),
                                               0,
                                               "wayward",
                                               "0.1.0",
                                               create,
                                               feed,
                                               finish,
                                               consumed,
                                               save,
                                               destroy,
                                               extension};

}  // namespace

GIRDLE_READER_LIBRARY(kWayward);
