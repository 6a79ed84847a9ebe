// One way that bytes come in: a watched folder, a serial line or a TCP line, each handing its
// documents to its sink.
//
// All on one thread, the one that runs the executor. No exception leaves run() or scan_once() but
// what the sink throws; what goes wrong with a device, a folder or a peer is logged once, told by
// status(), and tried again. The sink, the clock and the configuration's values outlive the intake;
// see sink.h for how long an intake must live.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/clock.h"
#include "base/log.h"
#include "base/result.h"
#include "config/settings.h"
#include "intake/sink.h"

namespace girdle::intake {

// What the intake did since it was made, for metrics, and how it stands now, for health.
struct Status {
  bool up = false;         // the folder, device or peer is there
  std::string trouble;     // why not, or what works only in part; empty when all is well
  uint64_t documents = 0;  // handed to the sink, with the repeats after a failed commit
  uint64_t bytes = 0;      // of these documents
  uint64_t known = 0;      // files whose content was known
  uint64_t set_aside = 0;  // files and stretches of a line that were not read
  uint64_t abandoned = 0;  // documents given up half-way, to be offered again
  uint64_t failed = 0;     // commits that failed
  uint64_t in_flight = 0;  // handed over, not yet durable
  uint64_t scans = 0;      // full scans of the folder that were completed
  uint64_t connects = 0;   // times that the device or the peer was opened
  std::optional<base::Instant> last_at;  // when the last document was handed over
  // What a line of frames of kind astm counted: frames and sessions, and each deviation by the name
  // of its switch.
  std::vector<std::pair<std::string_view, uint64_t>> counts;
};

class Intake {
 public:
  virtual ~Intake() = default;

  // Takes in what comes until it is cancelled; then ends within 100 ms. Once only.
  virtual boost::asio::awaitable<void> run() = 0;

  // Takes in what is there now and returns when all of it was handed over (Dones may still be to
  // come). A file counts as ready without having to stand still. Nothing for lines. Not while run()
  // runs.
  virtual boost::asio::awaitable<void> scan_once() = 0;

  virtual std::string_view name() const = 0;
  virtual Status status() const = 0;
};

// Touches neither folder nor device. Fails where the settings name what there is not (a block
// check, a baud rate).
base::Result<std::unique_ptr<Intake>> make_intake(const config::Intake& settings, Sink& sink,
                                                  base::Clock& clock, base::Log log,
                                                  boost::asio::any_io_executor executor);

}  // namespace girdle::intake
