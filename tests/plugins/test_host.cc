#include "plugins/test_host.h"

#include <dlfcn.h>

#include <cstring>
#include <set>

namespace girdle::plugins_test {

namespace {

girdle_text lend(std::string_view text) { return {text.data(), text.size()}; }
std::string copied(girdle_text text) {
  return text.size == 0 ? std::string() : std::string(text.data, text.size);
}

// What a reader may call, and what is checked on the way.
class Listener {
 public:
  Listener(Heard& heard, const Limits& limits) : heard_(heard), limits_(limits) {
    host_ = {sizeof(girdle_reader_host), GIRDLE_READER_ABI, this, emit, aside, refuse, extension};
  }
  const girdle_reader_host& host() const { return host_; }

  void fed(uint64_t bytes) { fed_ += bytes; }
  void inside(bool yes) { inside_ = yes; }

 private:
  static Listener& of(const girdle_reader_host* host) {
    return *static_cast<Listener*>(host->context);
  }
  static const void* extension(const girdle_reader_host*, const char*) { return nullptr; }
  static void refuse(const girdle_reader_host* host, girdle_text reason) {
    of(host).heard_.refusal = copied(reason);
  }
  static girdle_status emit(const girdle_reader_host* host, const girdle_record* record) {
    return of(host).take(*record);
  }
  static girdle_status aside(const girdle_reader_host* host, const girdle_aside* aside) {
    return of(host).take(*aside);
  }

  void expect(bool holds, const char* rule) {
    if (!holds) heard_.breaches.emplace_back(rule);
  }
  void place(uint64_t offset, uint64_t length) {
    expect(inside_, "emit and aside only inside feed and finish");
    expect(!stopped_, "nothing after a stop");
    expect(offset >= next_, "in the order of offsets, without overlap");
    expect(length <= limits_.bytes, "not longer than max_record_bytes");
    expect(offset + length <= fed_, "inside the fed bytes");
    next_ = offset + length;
  }
  girdle_status answer() {
    stopped_ = ++calls_ >= limits_.stop_after;
    return stopped_ ? GIRDLE_STOP : GIRDLE_OK;
  }
  girdle_status take(const girdle_record& record) {
    expect(record.size >= sizeof record, "a record begins with its size");
    expect(record.length > 0, "a record has bytes");
    place(record.offset, record.length);
    expect(record.count <= limits_.fields, "not more than max_fields");
    Record copy = {record.offset, record.length, record.line, record.layout, {}};
    std::set<std::string> names;
    std::string all_names;
    for (size_t i = 0; i < record.count; ++i) {
      copy.fields.emplace_back(copied(record.names[i]), copied(record.values[i]));
      expect(names.insert(copy.fields.back().first).second, "no name twice");
      all_names += std::to_string(record.names[i].size) + ":" + copy.fields.back().first;
    }
    if (record.layout != 0) {
      const auto known = layouts_.emplace(record.layout, all_names).first;
      expect(known->second == all_names, "equal layouts have equal names");
    }
    heard_.records.push_back(std::move(copy));
    return answer();
  }
  girdle_status take(const girdle_aside& told) {
    expect(told.size >= sizeof told, "an aside begins with its size");
    expect(told.reason.size > 0, "an aside has a reason");
    place(told.offset, told.length);
    heard_.asides.push_back({told.offset, told.length, told.line, copied(told.reason)});
    return answer();
  }

  Heard& heard_;
  const Limits& limits_;
  girdle_reader_host host_;
  std::map<uint32_t, std::string> layouts_;
  uint64_t fed_ = 0;
  uint64_t next_ = 0;
  uint64_t calls_ = 0;
  bool inside_ = false;
  bool stopped_ = false;
};

girdle_reader* make(const girdle_reader_descriptor& descriptor, const Listener& listener,
                    const Options& options, const Limits& limits, std::string_view resume) {
  std::vector<girdle_option> lent;
  for (const auto& [name, value] : options) lent.push_back({lend(name), lend(value)});
  const girdle_reader_setup setup = {sizeof(girdle_reader_setup),
                                     0,
                                     limits.bytes,
                                     limits.fields,
                                     lent.size(),
                                     lent.data(),
                                     lend(resume)};
  return descriptor.create(&listener.host(), &setup);
}

}  // namespace

std::string Heard::text() const {
  std::string out;
  const auto place = [&](const auto& at) {
    out += std::to_string(at.offset) + "+" + std::to_string(at.length) + " line " +
           std::to_string(at.line);
  };
  for (const Record& record : records) {
    place(record);
    for (const auto& [name, value] : record.fields) out += " [" + name + "]=[" + value + "]";
    out += "\n";
  }
  for (const Aside& aside : asides) {
    place(aside);
    out += " aside: " + aside.reason + "\n";
  }
  return out + (refusal.empty() ? "" : "refused: " + refusal + "\n");
}

Heard read(const girdle_reader_descriptor& descriptor, const std::vector<std::string_view>& pieces,
           const Options& options, bool finish, const Limits& limits, std::string_view resume) {
  Heard heard;
  Listener listener(heard, limits);
  girdle_reader* reader = make(descriptor, listener, options, limits, resume);
  if (reader == nullptr) return heard;
  uint64_t fed = 0;
  for (const std::string_view piece : pieces) {
    if (heard.status != GIRDLE_OK) break;
    // Exactly as large as the piece, so that a sanitizer sees a look past it.
    const std::unique_ptr<char[]> lent(new char[piece.size()]);
    std::memcpy(lent.get(), piece.data(), piece.size());
    fed += piece.size();
    listener.fed(piece.size());
    listener.inside(true);
    heard.status = descriptor.feed(reader, lent.get(), piece.size());
    listener.inside(false);
    if (heard.status != GIRDLE_OK) break;
    const uint64_t consumed = descriptor.consumed(reader);
    if (consumed > fed || consumed < heard.consumed)
      heard.breaches.emplace_back("consumed grows, up to what was fed");
    heard.consumed = consumed;
  }
  if (finish && heard.status == GIRDLE_OK) {
    listener.inside(true);
    heard.status = descriptor.finish(reader);
    listener.inside(false);
    heard.consumed = descriptor.consumed(reader);
    if (heard.status == GIRDLE_OK && heard.consumed != fed)
      heard.breaches.emplace_back("all is consumed after finish");
  }
  girdle_text state = {};
  if (heard.status == GIRDLE_OK && descriptor.save(reader, &state) == GIRDLE_OK)
    heard.state = copied(state);
  descriptor.destroy(reader);
  return heard;
}

Heard read_growing(const girdle_reader_descriptor& descriptor, std::string_view bytes,
                   const std::vector<size_t>& cuts, const Options& options, const Limits& limits) {
  Heard all;
  size_t base = 0;
  for (size_t i = 0; i <= cuts.size(); ++i) {
    const bool last = i == cuts.size();
    const size_t end = last ? bytes.size() : cuts[i];
    if (end < base) continue;
    Heard part =
        read(descriptor, {bytes.substr(base, end - base)}, options, last, limits, all.state);
    for (Record& record : part.records) record.offset += base;
    for (Aside& aside : part.asides) aside.offset += base;
    all.records.insert(all.records.end(), part.records.begin(), part.records.end());
    all.asides.insert(all.asides.end(), part.asides.begin(), part.asides.end());
    all.breaches.insert(all.breaches.end(), part.breaches.begin(), part.breaches.end());
    all.refusal += part.refusal;
    all.status = part.status;
    if (all.status != GIRDLE_OK || !part.refusal.empty()) return all;
    base += part.consumed;
    all.consumed = base;
    all.state = part.state;
  }
  return all;
}

std::vector<std::string_view> pieces_of(std::string_view bytes, size_t size) {
  std::vector<std::string_view> pieces;
  for (size_t at = 0; at < bytes.size(); at += size) pieces.push_back(bytes.substr(at, size));
  return pieces;
}

Library open_library(const std::string& path) {
  Library library;
  void* handle = dlopen(path.c_str(), RTLD_NOW | RTLD_LOCAL);
  if (handle == nullptr) {
    library.error = dlerror();
    return library;
  }
  library.negotiate =
      reinterpret_cast<decltype(library.negotiate)>(dlsym(handle, "girdle_reader_negotiate"));
  library.descriptor_at = reinterpret_cast<decltype(library.descriptor_at)>(
      dlsym(handle, "girdle_reader_descriptor_at"));
  if (library.negotiate == nullptr || library.descriptor_at == nullptr)
    library.error = "not both functions";
  return library;
}

}  // namespace girdle::plugins_test
