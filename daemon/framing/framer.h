// Cuts frames out of a byte stream. Pure: no I/O, no clock, no threads.
//
// However a stream is split into feeds, the same frames and faults come out, in the order of the
// stream. Memory is bounded by the settings' max_bytes.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

#include "base/result.h"
#include "config/settings.h"

namespace girdle::framing {

// One message. `bytes` are without line end, start, end and check; valid during the call only.
struct Frame {
  std::string_view bytes;
  uint64_t stream_offset = 0;  // of the frame's first byte on the line, its start byte included
};

// A stretch of the stream of which no frame could be made, as it came, start, end and check
// included; valid during the call only. The reason says what is wrong, for a person.
struct Fault {
  std::string reason;
  std::string_view bytes;
  uint64_t stream_offset = 0;
  bool truncated = false;  // the stretch was longer than `bytes`; the rest is dropped
};

class FrameSink {
 public:
  virtual ~FrameSink() = default;
  virtual void frame(const Frame& frame) = 0;
  virtual void fault(const Fault& fault) = 0;
};

class Framer {
 public:
  virtual ~Framer() = default;

  virtual void feed(std::string_view bytes, FrameSink& sink) = 0;

  // One byte that the line marked as received wrongly (parity, stop bit, break). It never ends or
  // starts a frame; the frame that holds it becomes a fault. A zero between frames is a break that
  // says nothing, and is ignored.
  virtual void feed_damaged(char byte, FrameSink& sink) = 0;

  // The line was lost: what was begun becomes a fault, and the next byte stands at the beginning.
  virtual void reset(FrameSink& sink) = 0;

  // Bytes of the frame that was begun and is not yet complete.
  virtual uint64_t pending() const = 0;
};

// Fails on a check that is not known, on a start or end that is empty or longer than 8 bytes, on a
// limit of 0.
base::Result<std::unique_ptr<Framer>> make_framer(const config::Framing& settings);

}  // namespace girdle::framing
