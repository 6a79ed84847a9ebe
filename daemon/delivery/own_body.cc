#include "delivery/own_body.h"

namespace girdle::delivery {

base::Result<void> OwnBody::add(std::string& out, const model::Outcome& outcome) {
  event_.read(outcome);
  return add(out, event_);
}

base::Result<void> OwnBody::add(std::string& out, const ParsedEvent& event) {
  const size_t before = out.size();
  auto written = write(out, event);
  if (!written) out.resize(before);
  return written;
}

}  // namespace girdle::delivery
