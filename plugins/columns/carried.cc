#include "columns/carried.h"

#include <algorithm>

namespace girdle::columns {

Carried::Carried(const std::vector<LineKind>& kinds) : kinds_(kinds) {
  for (size_t i = 0; i < kinds.size(); ++i) {
    if (kinds[i].carried) entries_.push_back({i, Known::kMissing, {}});
  }
}

Carried::Entry& Carried::of(size_t kind) {
  return *std::find_if(entries_.begin(), entries_.end(),
                       [&](const Entry& entry) { return entry.kind == kind; });
}

void Carried::end_behind(size_t kind) {
  for (Entry& entry : entries_) {
    if (entry.kind > kind) entry = {entry.kind, Known::kMissing, {}};
  }
}

void Carried::set(size_t kind, const std::vector<std::string_view>& values) {
  Entry& entry = of(kind);
  entry.known = Known::kYes;
  entry.values.assign(values.begin(), values.end());
  end_behind(kind);
}

void Carried::set_unreadable(size_t kind) {
  of(kind) = {kind, Known::kUnreadable, {}};
  end_behind(kind);
}

void Carried::doubt() {
  for (Entry& entry : entries_) {
    if (entry.known == Known::kYes) entry = {entry.kind, Known::kDoubtful, {}};
  }
}

std::optional<std::string> Carried::fault() const {
  for (const Entry& entry : entries_) {
    const std::string title = kinds_[entry.kind].title();
    switch (entry.known) {
      case Known::kYes:
        continue;
      case Known::kMissing:
        return "the record needs the fields of " + title + ", and no such line came before it";
      case Known::kUnreadable:
        return "the record needs the fields of " + title +
               ", and the last such line before it could not be read";
      case Known::kDoubtful:
        return "the record needs the fields of " + title +
               ", and a line came between them that may have been another such line";
    }
  }
  return std::nullopt;
}

void Carried::save(kit::StateWriter& state) const {
  for (const Entry& entry : entries_) {
    state.number(static_cast<uint64_t>(entry.known)).number(entry.values.size());
    for (const std::string& value : entry.values) state.text(value);
  }
}

bool Carried::resume(kit::StateParser& state) {
  for (Entry& entry : entries_) {
    entry.known = static_cast<Known>(state.number(static_cast<uint64_t>(Known::kDoubtful)));
    const size_t count = state.number();
    const size_t wanted = entry.known == Known::kYes ? kinds_[entry.kind].names.size() : 0;
    if (!state.good() || count != wanted) return false;
    entry.values.clear();
    for (size_t i = 0; i < count; ++i) entry.values.emplace_back(state.text());
  }
  return state.good();
}

}  // namespace girdle::columns
