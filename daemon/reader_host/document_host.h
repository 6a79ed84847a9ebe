// girdled's requests, answered by a reader: the other side of reading/process_carrier.cc.
#pragma once

#include <girdle/reader.h>

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "reading/wire.h"

namespace girdle::reader_host {

// Bytes from and to girdled. Both ends of the process's life are here: whoever cannot read or write
// any more has nobody to work for, and exits.
class Connection {
 public:
  explicit Connection(uint64_t max_body) : frames_(max_body) {}

  // The next request. What was put into out() is sent before it is waited for.
  reading::wire::Frame next();
  std::string& out() { return out_; }
  void flush();

 private:
  reading::wire::Frames frames_;
  std::string out_;
};

// What every document's reader is made with.
struct Setup {
  uint64_t max_record_bytes = 0, max_fields = 0;
  std::vector<std::pair<std::string, std::string>> options;
};

class DocumentHost {
 public:
  DocumentHost(Connection& connection, const girdle_reader_descriptor& descriptor, Setup setup);

  // Answers until girdled has no more.
  [[noreturn]] void serve();

 private:
  using Frame = reading::wire::Frame;
  using FrameType = reading::wire::FrameType;

  static DocumentHost& of(const girdle_reader_host* host) {
    return *static_cast<DocumentHost*>(host->context);
  }
  static girdle_status on_emit(const girdle_reader_host* host,
                               const girdle_record* record) noexcept;
  static girdle_status on_aside(const girdle_reader_host* host, const girdle_aside* aside) noexcept;
  static void on_refuse(const girdle_reader_host* host, girdle_text reason) noexcept;

  void answer(const Frame& frame);
  void begin(std::string_view body);
  void feed(std::string_view bytes);
  void end(std::string_view body);
  void drop();
  void destroy();

  // Whether the reader may tell of records now; if not, girdled is told.
  bool takes_calls();
  // Sends what there is when it is enough.
  void told();
  // A frame that is no batch.
  reading::wire::FrameWriter frame(FrameType type);

  Connection& connection_;
  const girdle_reader_descriptor& descriptor_;
  const Setup setup_;
  std::vector<girdle_option> lent_;
  girdle_reader_host host_{};
  reading::wire::RecordWriter records_;
  girdle_reader* reader_ = nullptr;
  bool in_call_ = false;
  std::string refusal_;
};

}  // namespace girdle::reader_host
