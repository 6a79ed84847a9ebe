#include "service/hand_reader.h"

#include <boost/asio/post.hpp>

namespace girdle::service {

using base::Result;

void HandReader::adopt(const Checked& checked) {
  Readers openers;
  for (size_t i = 0; i < checked.settings.intakes.size(); ++i) {
    openers.emplace(checked.settings.intakes[i].name, checked.more_readers[i]);
  }
  boost::asio::post(thread_, [this, openers = std::move(openers)]() mutable {
    openers_ = std::move(openers);
    readers_.clear();
  });
}

bool HandReader::read(Work work, Done done) {
  if (waiting_.fetch_add(1) >= kMostWaiting) {
    waiting_.fetch_sub(1);
    return false;
  }
  boost::asio::post(thread_, [this, work = std::move(work), done = std::move(done)] {
    auto read = read_now(work);
    waiting_.fetch_sub(1);
    done(std::move(read));
  });
  return true;
}

void HandReader::stop() {
  thread_.stop();
  thread_.join();
}

Result<std::shared_ptr<reading::Reader>> HandReader::reader_of(const std::string& intake) {
  if (const auto known = readers_.find(intake); known != readers_.end()) return known->second;
  const auto opener = openers_.find(intake);
  if (opener == openers_.end()) return base::input_error("there is no intake \"" + intake + '"');
  auto opened = opener->second();
  if (opened) readers_.emplace(intake, *opened);
  return opened;
}

Result<HandReader::Read> HandReader::read_now(const Work& work) {
  auto reader = reader_of(work.intake);
  if (!reader) return reader.error();
  auto document = (*reader)->begin(work.resume);
  if (!document) return document.error();
  Read read;
  read.makes_declarations = (*reader)->makes_declarations();
  document->feed(work.bytes, read.records);
  document->finish(work.whole, read.records);
  if (!document->fault().empty()) {
    readers_.erase(work.intake);  // whatever it is, another one begins anew
    return base::input_error(document->fault());
  }
  read.contents.reserve(read.records.readings.size());
  for (const model::Reading& reading : read.records.readings) read.contents.push_back(content_.of(reading));
  return read;
}

}  // namespace girdle::service
