// Reads documents that people and programs hand in over HTTP, shows how a document would be read, and reads again what
// was set aside. On a thread of its own and with readers of its own, so that no intake waits for it.
#pragma once

#include <boost/asio/thread_pool.hpp>
#include <atomic>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "base/result.h"
#include "model/content.h"
#include "model/record.h"
#include "reading/reader.h"
#include "service/check.h"

namespace girdle::service {

class HandReader {
 public:
  static constexpr size_t kMostWaiting = 16;  // documents at a time, of at most 1 MiB

  ~HandReader() { stop(); }

  // What follows is read by these. Any thread.
  void adopt(const Checked& checked);

  struct Work {
    std::string intake;
    std::string bytes;
    std::string resume;  // of a piece of a growing file
    bool whole = true;
  };
  struct Read {
    model::Records records;
    std::vector<int64_t> contents;  // of its readings (model::ContentNumbers)
    bool makes_declarations = false;
  };
  // `done` is called on the reading thread. Any thread. False: there is no room now, and `done` is not called. The error
  // says why the document could not be read at all.
  using Done = std::function<void(base::Result<Read>)>;
  bool read(Work work, Done done);
  // Whatever waits is dropped, with its Done. Waits for the document under way.
  void stop();

 private:
  using Readers = std::map<std::string, Checked::OpenReader>;
  base::Result<Read> read_now(const Work& work);
  base::Result<std::shared_ptr<reading::Reader>> reader_of(const std::string& intake);

  // Of the reading thread.
  Readers openers_;
  std::map<std::string, std::shared_ptr<reading::Reader>> readers_;  // opened when first needed
  model::ContentNumbers content_;

  std::atomic<size_t> waiting_{0};
  boost::asio::thread_pool thread_{1};
};

}  // namespace girdle::service
