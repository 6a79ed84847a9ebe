// Any bytes as what a reader's process sends: frames are cut the same however the bytes come, and
// every text that a batch gives to the host can be read. Run with the address sanitizer.
#include <cstdint>
#include <cstdlib>
#include <string>
#include <vector>

#include "reading/wire.h"

namespace girdle::reading::wire {
namespace {

constexpr uint64_t kMaxFields = 20;

void look(const girdle_text& text, uint64_t& sum) {
  if (text.size == SIZE_MAX || text.data == nullptr) return;
  for (size_t i = 0; i < text.size; ++i) sum += static_cast<uint8_t>(text.data[i]);
}

girdle_status on_emit(const girdle_reader_host* host, const girdle_record* r) {
  auto& sum = *static_cast<uint64_t*>(host->context);
  if (r == nullptr || r->size < sizeof *r || r->count > kMaxFields) return GIRDLE_OK;
  for (size_t i = 0; r->names != nullptr && r->values != nullptr && i < r->count; ++i) {
    look(r->names[i], sum);
    look(r->values[i], sum);
  }
  return r->offset == 13 ? GIRDLE_STOP : GIRDLE_OK;
}

girdle_status on_aside(const girdle_reader_host* host, const girdle_aside* a) {
  if (a != nullptr) look(a->reason, *static_cast<uint64_t*>(host->context));
  return GIRDLE_OK;
}

// The frames of the bytes when they come in pieces, and what their batches say.
std::vector<std::string> cut(std::string_view bytes, size_t piece, uint64_t& sum) {
  girdle_reader_host host{};
  host.size = sizeof host;
  host.context = &sum;
  host.emit = &on_emit;
  host.aside = &on_aside;
  Frames frames(1 << 16);
  RecordParser records(kMaxFields);
  std::vector<std::string> out;
  for (size_t at = 0; at < bytes.size(); at += piece) {
    const std::string_view part = bytes.substr(at, piece);
    part.copy(frames.room(part.size()), part.size());
    frames.added(part.size());
    while (const auto frame = frames.next()) {
      out.emplace_back(frame->body);
      if (frame->type == FrameType::kRecords) records.replay(frame->body, host);
    }
  }
  if (frames.broken()) out.emplace_back("broken");
  return out;
}

}  // namespace
}  // namespace girdle::reading::wire

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  namespace wire = girdle::reading::wire;
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  uint64_t whole = 0, pieces = 0;
  const auto frames = wire::cut(bytes, size + 1, whole);
  if (wire::cut(bytes, 1 + size % 7, pieces) != frames || whole != pieces) std::abort();
  // The bytes as the body of one batch: so deeper than luck with the heads would come.
  std::string batch;
  {
    wire::FrameWriter frame(batch, wire::FrameType::kRecords);
    batch.append(bytes);
  }
  uint64_t sum = 0;
  wire::cut(batch, batch.size(), sum);
  return 0;
}
