#include "api/instrument_meters.h"

#include <algorithm>

namespace girdle::api {

void InstrumentMeters::adopt(const std::vector<std::string>& serials) {
  const std::lock_guard lock(mutex_);
  configured_.clear();
  for (const std::string& serial : serials) {
    auto known = std::ranges::find(all_, serial, &One::serial);
    configured_[serial] = known == all_.end() ? &all_.emplace_back(serial) : &*known;
  }
}

InstrumentMeters::One& InstrumentMeters::of(std::string_view serial) {
  const std::lock_guard lock(mutex_);
  const auto found = configured_.find(serial);
  return found == configured_.end() ? all_.front() : *found->second;
}

void InstrumentMeters::each(const std::function<void(const One&)>& one) const {
  const std::lock_guard lock(mutex_);
  for (const One& instrument : all_) one(instrument);
}

}  // namespace girdle::api
