#include "reading/reader.h"

#include <dlfcn.h>
#include <girdle/reader.h>

#include <algorithm>

#include "base/text.h"
#include "reading/mapper.h"

namespace girdle::reading {
namespace {

using base::input_error;
using base::Result;

constexpr uint64_t kMaxFields = 1000;
constexpr size_t kMaxReason = 500;

struct CloseLibrary {
  void operator()(void* library) const { dlclose(library); }
};

std::string_view view(const girdle_text& text) {
  return text.size == 0 ? std::string_view() : std::string_view(text.data, text.size);
}

bool sound(const girdle_text& text) { return text.size == 0 || text.data != nullptr; }

}  // namespace

struct Reader::Loaded {
  Manifest manifest;
  Choice choice;
  std::unique_ptr<void, CloseLibrary> library;
  const girdle_reader_descriptor* descriptor = nullptr;
  std::vector<girdle_option> options;  // over choice.options
  std::optional<Mapper> mapper;
};

struct DocumentReading::State {
  std::shared_ptr<Reader> owner;
  Reader::Loaded* loaded = nullptr;
  girdle_reader_host host{};
  girdle_reader* reader = nullptr;
  std::string refusal;

  model::Records* out = nullptr;   // during a call
  std::string_view window;         // the bytes being fed
  uint64_t window_offset = 0;      // of the window's first byte
  std::string tail;                // fed and not consumed: a record set aside may begin in it
  uint64_t fed = 0;
  bool broken = false;  // the reader failed: the rest of the document is set aside with `trouble`
  std::string trouble;
  std::string reason;

  ~State() {
    if (reader) loaded->descriptor->destroy(reader);
  }

  static State& of(const girdle_reader_host* h) { return *static_cast<State*>(h->context); }
  static girdle_status on_emit(const girdle_reader_host* h, const girdle_record* record) { return of(h).emit(record); }
  static girdle_status on_aside(const girdle_reader_host* h, const girdle_aside* aside) { return of(h).put_aside(aside); }
  static void on_refuse(const girdle_reader_host* h, girdle_text text) { of(h).refusal = view(text); }
  static const void* on_extension(const girdle_reader_host*, const char*) { return nullptr; }

  girdle_status emit(const girdle_record* record);
  girdle_status put_aside(const girdle_aside* aside);
  girdle_status fail(std::string why);
  void set_aside(uint64_t offset, uint64_t length, uint64_t line, std::string why);
  std::string bytes_at(uint64_t offset, uint64_t length) const;
  void check(girdle_status status);
  void keep_tail();
};

girdle_status DocumentReading::State::fail(std::string why) {
  broken = true;
  if (trouble.empty()) trouble = "the reader " + loaded->manifest.name + " misbehaves: " + std::move(why);
  return GIRDLE_STOP;
}

girdle_status DocumentReading::State::emit(const girdle_record* record) {
  if (!out || broken) return fail("it goes on after it was stopped");
  if (!record || record->size < sizeof(girdle_record)) return fail("it gives a record of another size");
  if (record->count > kMaxFields) return fail("it gives a record of " + std::to_string(record->count) + " fields");
  if (record->count > 0 && (!record->names || !record->values)) return fail("it gives a record without names");
  for (size_t i = 0; i < record->count; ++i) {
    if (!sound(record->names[i]) || !sound(record->values[i])) return fail("it gives a field without its text");
  }
  if (!loaded->mapper->apply(*record, *out, reason)) {
    set_aside(record->offset, record->length, record->line, reason);
  }
  return GIRDLE_OK;
}

girdle_status DocumentReading::State::put_aside(const girdle_aside* aside) {
  if (!out || broken) return fail("it goes on after it was stopped");
  if (!aside || aside->size < sizeof(girdle_aside) || !sound(aside->reason)) return fail("it gives an aside of another size");
  set_aside(aside->offset, aside->length, aside->line, std::string(view(aside->reason).substr(0, kMaxReason)));
  return GIRDLE_OK;
}

std::string DocumentReading::State::bytes_at(uint64_t offset, uint64_t length) const {
  std::string bytes;
  const uint64_t end = offset + std::min(length, loaded->choice.max_record_bytes);
  const uint64_t tail_offset = window_offset - tail.size();
  if (offset < window_offset && offset >= tail_offset) {
    bytes = tail.substr(offset - tail_offset, end - offset);
  }
  const uint64_t from = std::max(offset, window_offset);
  if (end > from && from - window_offset < window.size()) bytes += window.substr(from - window_offset, end - from);
  return bytes;
}

void DocumentReading::State::set_aside(uint64_t offset, uint64_t length, uint64_t line, std::string why) {
  model::Aside aside;
  aside.place = {offset, length, static_cast<uint32_t>(std::min<uint64_t>(line, UINT32_MAX))};
  aside.reason = std::move(why);
  aside.bytes = bytes_at(offset, length);
  aside.truncated = aside.bytes.size() < length;
  out->asides.push_back(std::move(aside));
}

void DocumentReading::State::check(girdle_status status) {
  if (status == GIRDLE_OK || broken) return;
  broken = true;
  trouble = "the reader " + loaded->manifest.name + " gave up (status " + std::to_string(status) + ")";
}

void DocumentReading::State::keep_tail() {
  const uint64_t done = std::min(broken ? fed : loaded->descriptor->consumed(reader), fed);
  std::string rest = bytes_at(done, fed - done);
  tail = std::move(rest);
  window = {};
  window_offset = done + tail.size();
}

DocumentReading::DocumentReading(std::unique_ptr<State> state) : state_(std::move(state)) {}
DocumentReading::DocumentReading(DocumentReading&&) noexcept = default;
DocumentReading& DocumentReading::operator=(DocumentReading&&) noexcept = default;
DocumentReading::~DocumentReading() = default;

void DocumentReading::feed(std::string_view bytes, model::Records& out) {
  State& s = *state_;
  if (s.broken) return;
  s.out = &out;
  s.window = bytes;
  s.window_offset = s.fed;
  s.fed += bytes.size();
  s.check(s.loaded->descriptor->feed(s.reader, bytes.data(), bytes.size()));
  if (s.broken) s.set_aside(0, s.fed, 0, s.trouble);
  s.keep_tail();
  s.out = nullptr;
}

void DocumentReading::finish(bool whole, model::Records& out) {
  State& s = *state_;
  if (s.broken || !whole) return;
  s.out = &out;
  s.check(s.loaded->descriptor->finish(s.reader));
  if (s.broken) s.set_aside(0, s.fed, 0, s.trouble);
  s.out = nullptr;
}

uint64_t DocumentReading::consumed() const {
  const State& s = *state_;
  return s.broken ? s.fed : std::min(s.loaded->descriptor->consumed(s.reader), s.fed);
}

std::string DocumentReading::resume() {
  State& s = *state_;
  girdle_text state{};
  if (s.broken || s.loaded->descriptor->save(s.reader, &state) != GIRDLE_OK || !sound(state)) return {};
  return std::string(view(state));
}

Reader::Reader() = default;
Reader::~Reader() = default;

namespace {

// The library's two functions, and its descriptor of that name.
Result<const girdle_reader_descriptor*> negotiate(void* library, const Manifest& manifest) {
  const auto wrong = [&](const std::string& why) {
    return input_error("reader " + manifest.name + ": " + manifest.library.string() + " " + why);
  };
  const auto negotiate_abi = reinterpret_cast<decltype(&girdle_reader_negotiate)>(dlsym(library, "girdle_reader_negotiate"));
  const auto descriptor_at =
      reinterpret_cast<decltype(&girdle_reader_descriptor_at)>(dlsym(library, "girdle_reader_descriptor_at"));
  if (!negotiate_abi || !descriptor_at) {
    return wrong("does not export girdle_reader_negotiate and girdle_reader_descriptor_at: it is no reader");
  }
  uint32_t chosen = 0;
  if (negotiate_abi(GIRDLE_READER_ABI, GIRDLE_READER_ABI, &chosen) != GIRDLE_OK || chosen != GIRDLE_READER_ABI) {
    return wrong("speaks another version of the reader ABI than this girdled (" + std::to_string(GIRDLE_READER_ABI) +
                 "); build it against this version's SDK");
  }
  for (uint32_t i = 0; i < 64; ++i) {
    const girdle_reader_descriptor* const descriptor = descriptor_at(i);
    if (!descriptor) break;
    if (descriptor->size < sizeof(girdle_reader_descriptor) || !descriptor->name) continue;
    if (manifest.name == descriptor->name) return descriptor;
  }
  return wrong("has no reader named " + manifest.name + ", which its manifest promises");
}

}  // namespace

Result<std::shared_ptr<Reader>> Reader::open(const Catalogue& catalogue, Choice choice) {
  const Manifest* const manifest = catalogue.find(choice.reader);
  if (!manifest) {
    const auto names = catalogue.names();
    const std::string_view near = base::nearest(choice.reader, names);
    return input_error("there is no reader \"" + choice.reader + "\"" +
                       (!near.empty()     ? "; did you mean " + std::string(near) + "?"
                        : names.empty() ? "; no reader was found, is girdled installed whole?"
                                        : "; there is " + base::listed(names)));
  }
  if (manifest->abi != GIRDLE_READER_ABI) {
    return input_error("reader " + manifest->name + ": it speaks version " + std::to_string(manifest->abi) +
                       " of the reader ABI, this girdled speaks " + std::to_string(GIRDLE_READER_ABI));
  }
  for (const auto& [option, problem] : check_options(*manifest, choice.options)) return input_error(problem);

  auto loaded = std::make_unique<Loaded>();
  loaded->manifest = *manifest;
  loaded->choice = std::move(choice);
  loaded->library.reset(dlopen(manifest->library.c_str(), RTLD_NOW | RTLD_LOCAL));
  if (!loaded->library) return input_error("reader " + manifest->name + " cannot be loaded: " + dlerror());
  auto descriptor = negotiate(loaded->library.get(), *manifest);
  if (!descriptor) return descriptor.error();
  loaded->descriptor = *descriptor;

  Options& options = loaded->choice.options;
  for (const OptionRule& rule : manifest->options) {
    const bool given = std::any_of(options.begin(), options.end(), [&](const auto& o) { return o.first == rule.name; });
    if (!given && rule.default_value) options.emplace_back(rule.name, *rule.default_value);
  }
  for (const auto& [name, value] : options) {
    loaded->options.push_back({{name.data(), name.size()}, {value.data(), value.size()}});
  }
  auto mapper = Mapper::compile(loaded->choice.mapping, loaded->choice.timezone, manifest->sparse);
  if (!mapper) return mapper.error();
  loaded->mapper = std::move(mapper).value();

  const std::shared_ptr<Reader> reader(new Reader);
  reader->loaded_ = std::move(loaded);
  // Options that do not go together are told here, and not with the first document.
  auto trial = reader->begin();
  if (!trial) return trial.error();
  return reader;
}

Result<DocumentReading> Reader::begin(std::string_view resume) {
  auto state = std::make_unique<DocumentReading::State>();
  using State = DocumentReading::State;
  state->owner = shared_from_this();
  state->loaded = loaded_.get();
  state->host = {sizeof(girdle_reader_host), GIRDLE_READER_ABI, state.get(), &State::on_emit, &State::on_aside,
                 &State::on_refuse,          &State::on_extension};
  girdle_reader_setup setup{};
  setup.size = sizeof setup;
  setup.max_record_bytes = loaded_->choice.max_record_bytes;
  setup.max_fields = kMaxFields;
  setup.option_count = loaded_->options.size();
  setup.options = loaded_->options.data();
  setup.resume = {resume.data(), resume.size()};
  loaded_->mapper->forget_layout();
  state->reader = loaded_->descriptor->create(&state->host, &setup);
  if (!state->reader) {
    return input_error("reader " + loaded_->manifest.name + ": " +
                       (state->refusal.empty() ? "it refuses its options" : state->refusal));
  }
  return DocumentReading(std::move(state));
}

}  // namespace girdle::reading
