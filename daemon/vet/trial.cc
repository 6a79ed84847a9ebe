#include "vet/trial.h"

#include <unistd.h>

#include <algorithm>
#include <cstring>

namespace girdle::vet {
namespace {

void append(std::string& out, std::string_view text) {
  const auto size = static_cast<uint32_t>(text.size());
  out.append(reinterpret_cast<const char*>(&size), sizeof size);
  out.append(text);
}

}  // namespace

void Trial::at(std::string_view where) {
  const size_t size = std::min(where.size(), shared_.where.size() - 1);
  std::memcpy(shared_.where.data(), where.data(), size);
  shared_.where[size] = '\0';
}

// A whole message, from one thread at a time.
void Trial::tell(Tell kind, std::initializer_list<std::string_view> texts) {
  std::string message(1, static_cast<char>(kind));
  for (const std::string_view text : texts) append(message, text);
  std::string framed;
  append(framed, message);
  for (std::string_view left = framed; !left.empty();) {
    const ssize_t written = ::write(report_, left.data(), left.size());
    if (written <= 0) return;  // the parent is gone
    left.remove_prefix(static_cast<size_t>(written));
  }
}

void Trial::fault(std::string_view rule, std::string_view what, std::string_view right) {
  const std::lock_guard lock(mutex_);
  const auto [at, first] = faults_.try_emplace(std::string(rule), 0);
  ++at->second;
  if (first) tell(Tell::kFault, {rule, where(), what, right, std::to_string(shared_.change)});
}

bool Trial::told(std::string_view rule) const {
  const std::lock_guard lock(mutex_);
  return faults_.contains(rule);
}

void Trial::note(std::string_view text) {
  const std::lock_guard lock(mutex_);
  if (notes_[std::string(text)]++ == 0) tell(Tell::kNote, {text});
}

void Trial::cannot(std::string_view reason) {
  const std::lock_guard lock(mutex_);
  tell(Tell::kCannot, {reason});
}

void Trial::measure(std::string_view name, int64_t value, std::string_view unit) {
  const std::lock_guard lock(mutex_);
  tell(Tell::kMeasure, {name, std::to_string(value), unit});
}

void Trial::done() {
  const std::lock_guard lock(mutex_);
  for (const auto& [rule, times] : faults_)
    if (times > 1) tell(Tell::kTimes, {rule, std::to_string(times - 1)});
  tell(Tell::kTried, {std::to_string(tried_)});
}

}  // namespace girdle::vet
