// The readers that ship say the same in a process of their own as in girdled's: every document of
// their corpora, whole and cut, and grown from piece to piece.
#include <dlfcn.h>
#include <gmock/gmock.h>

#include "plugins/corpus.h"
#include "reading/blocking_wait.h"
#include "reading/library.h"
#include "reading/library_carrier.h"
#include "reading/loaded_reader.h"
#include "reading/odd.h"
#include "reading/process_carrier.h"

namespace girdle::reading {
namespace {

constexpr uint64_t kMaxRecord = 1 << 20;

Options options_of(const Manifest& manifest, const plugins_test::Options& given) {
  Options options(given.begin(), given.end());
  for (const OptionRule& rule : manifest.options) {
    if (!given.contains(rule.name) && rule.default_value)
      options.emplace_back(rule.name, *rule.default_value);
  }
  return options;
}

std::string_view view(const girdle_text& text) {
  return text.size == 0 ? std::string_view() : std::string_view(text.data, text.size);
}

// A host that writes down all that it is told.
class Listener {
 public:
  Listener() {
    host_ = {
        .size = sizeof host_,
        .abi = GIRDLE_READER_ABI,
        .context = this,
        .emit =
            [](const girdle_reader_host* host, const girdle_record* r) {
              of(host).record(*r);
              return girdle_status{GIRDLE_OK};
            },
        .aside =
            [](const girdle_reader_host* host, const girdle_aside* a) {
              of(host).aside(*a);
              return girdle_status{GIRDLE_OK};
            },
        .refuse =
            [](const girdle_reader_host* host, girdle_text reason) {
              of(host).heard += "refused: " + std::string(view(reason)) + '\n';
            },
        .extension = [](const girdle_reader_host*, const char*) -> const void* { return nullptr; }};
  }
  const girdle_reader_host& host() const { return host_; }
  std::string heard;

 private:
  static Listener& of(const girdle_reader_host* host) {
    return *static_cast<Listener*>(host->context);
  }
  void place(const char* what, uint64_t offset, uint64_t length, uint64_t line) {
    heard += std::string(what) + ' ' + std::to_string(offset) + '+' + std::to_string(length) +
             " line " + std::to_string(line);
  }
  void record(const girdle_record& r) {
    place("record", r.offset, r.length, r.line);
    heard += " layout " + std::to_string(r.layout) + ':';
    for (size_t i = 0; i < r.count; ++i) {
      heard += ' ';
      heard += view(r.names[i]);
      heard += '=';
      heard += view(r.values[i]);
    }
    heard += '\n';
  }
  void aside(const girdle_aside& a) {
    place("aside", a.offset, a.length, a.line);
    heard += ' ';
    heard += view(a.reason);
    heard += '\n';
  }
  girdle_reader_host host_{};
};

void answer(Carrier& carrier, std::string& heard) {
  while (const auto wait = carrier.step()) block(*wait);
  heard += carrier.failure();
  if (carrier.refused() || !carrier.failure().empty()) return;
  const Carrier::Answer& answer = carrier.answer();
  heard +=
      "status " + std::to_string(answer.status) + " done " + std::to_string(answer.consumed) + '\n';
}

class Side {
 public:
  Side(const Manifest& manifest, const Options& options, bool isolated) : options_(options) {
    for (const auto& [name, value] : options_)
      lent_.push_back({{name.data(), name.size()}, {value.data(), value.size()}});
    if (isolated) {
      carriage_ = carry_to_process({manifest, options, kMaxRecord, kMaxFields}, test_isolation());
    } else {
      carriage_ = carry_in_process(*Library::load(manifest));
    }
  }

  // All that is said of a document that comes in pieces of that size. It grows in so many steps:
  // after each another reader goes on from what the one before saved.
  std::string say(std::string_view bytes, size_t piece, size_t steps = 1) {
    Listener listener;
    std::string state;
    for (size_t step = 1, from = 0; step <= steps; ++step) {
      const std::string_view there = bytes.substr(0, bytes.size() * step / steps);
      from += say_more(listener, there.substr(from), piece, step == steps, state);
    }
    return listener.heard;
  }

 private:
  uint64_t say_more(Listener& listener, std::string_view bytes, size_t piece, bool whole,
                    std::string& state) {
    const girdle_reader_setup setup{.size = sizeof(girdle_reader_setup),
                                    .reserved = 0,
                                    .max_record_bytes = kMaxRecord,
                                    .max_fields = kMaxFields,
                                    .option_count = lent_.size(),
                                    .options = lent_.data(),
                                    .resume = {state.data(), state.size()}};
    const auto carrier = carriage_->begin(listener.host(), setup);
    if (!carrier) return 0;
    for (size_t at = 0; at < bytes.size(); at += piece) {
      carrier->feed(bytes.substr(at, piece));
      answer(*carrier, listener.heard);
    }
    carrier->end(whole);
    answer(*carrier, listener.heard);
    if (carrier->refused()) return 0;
    state = view(carrier->answer().state);
    listener.heard += "saved " + std::to_string(carrier->answer().saved) + ' ' + state + '\n';
    return carrier->answer().consumed;
  }

  const Options options_;
  std::vector<girdle_option> lent_;
  std::unique_ptr<Carriage> carriage_;
};

// The libraries that a reader needs keep things for themselves (ICU its converters), which nobody
// could find any more if they were unloaded.
void keep_loaded(const Manifest& manifest) {
  dlopen(manifest.library.c_str(), RTLD_NOW | RTLD_LOCAL | RTLD_NODELETE);
}

class SameRecords : public testing::TestWithParam<std::pair<const char*, const char*>> {};

TEST_P(SameRecords, OfEveryDocumentOfTheCorpus) {
  const auto [name, extension] = GetParam();
  const Catalogue catalogue = Catalogue::scan({GIRDLE_READER_FOLDER}, nullptr);
  const Manifest& manifest = *catalogue.find(name);
  keep_loaded(manifest);
  size_t count = 0;
  for (const std::string folder : {"/accept", "/aside"}) {
    for (const plugins_test::Case& one : plugins_test::corpus(name + folder, extension)) {
      SCOPED_TRACE(one.name);
      const Options options = options_of(manifest, one.options);
      Side here(manifest, options, false), there(manifest, options, true);
      for (const auto& [piece, steps] :
           {std::pair<size_t, size_t>(1 << 20, 1), {7, 1}, {1 << 20, 3}}) {
        const std::string said = here.say(one.bytes, piece, steps);
        EXPECT_EQ(there.say(one.bytes, piece, steps), said);
        EXPECT_NE(said, "");
      }
      ++count;
    }
  }
  EXPECT_GE(count, 20u);
}

INSTANTIATE_TEST_SUITE_P(Readers, SameRecords,
                         testing::Values(std::pair{"delimited", "csv"}, std::pair{"json", "json"},
                                         std::pair{"xml", "xml"}, std::pair{"columns", "txt"},
                                         std::pair{"labelled", "txt"}, std::pair{"sheet", "xlsx"},
                                         std::pair{"astm", "txt"}),
                         [](const auto& test) { return std::string(test.param.first); });

class ManyBatches : public testing::TestWithParam<const char*> {};

TEST_P(ManyBatches, HoldTheSameRecords) {
  const char* const name = GetParam();
  const Catalogue catalogue = Catalogue::scan({GIRDLE_READER_FOLDER}, nullptr);
  const Manifest& manifest = *catalogue.find(name);
  keep_loaded(manifest);
  const Options options = options_of(manifest, {});
  std::string bytes = name == std::string("json") ? "" : "a,b\n";
  for (int i = 0; i < 60'000; ++i) {
    const std::string number = std::to_string(i);
    bytes += name == std::string("json") ? "{\"a\":" + number + ",\"b\":\"x\"}\n" : number + ",x\n";
  }
  Side here(manifest, options, false), there(manifest, options, true);
  for (const size_t piece : {64u << 10, 4u << 20}) {
    const std::string said = here.say(bytes, piece);
    EXPECT_TRUE(there.say(bytes, piece) == said);
    EXPECT_THAT(said, testing::HasSubstr("a=59999 b=x"));
  }
}

INSTANTIATE_TEST_SUITE_P(Readers, ManyBatches, testing::Values("delimited", "json"),
                         [](const auto& test) { return std::string(test.param); });

}  // namespace
}  // namespace girdle::reading
