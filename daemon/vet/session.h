// One reader, from create to destroy, in the hands of a host that looks at everything it does.
//
// Whatever breaks the contract of <girdle/reader.h> is told to the Trial. For one thread at a time.
#pragma once

#include <girdle/reader.h>

#include <array>
#include <cstdint>
#include <map>
#include <string>
#include <string_view>

#include "reading/manifest.h"
#include "vet/heard.h"
#include "vet/lent_memory.h"
#include "vet/loaded.h"
#include "vet/trial.h"

namespace girdle::vet {

struct Terms {
  reading::Options options;  // with defaults
  uint64_t max_record_bytes = 1 << 20;
  uint64_t max_fields = 1000;
  uint64_t stop_after = UINT64_MAX;  // records and asides, and what to answer then
  girdle_status stop_with = GIRDLE_STOP;
  bool newer_host = false;  // its structs go on behind what the reader knows
  bool keep = true;         // what is heard, for comparing
  bool damaged = false;     // the state is not its own: what texts and lines say is no fault
};

class Session {
 public:
  Session(Trial& trial, const Loaded& loaded, Terms terms, std::string_view resume = {});
  ~Session();
  Session(const Session&) = delete;
  Session& operator=(const Session&) = delete;

  // False: the reader refused, for this reason.
  bool begun() const { return reader_ != nullptr; }
  const std::string& refusal() const { return refusal_; }

  // False: no more may be fed, because the reader failed or was stopped.
  bool feed(std::string_view bytes);
  // As feed with no bytes and no pointer.
  bool feed_nothing();
  bool finish();

  // As last asked, which is after each feed and finish.
  uint64_t consumed() const { return consumed_; }
  uint64_t fed() const { return fed_; }
  std::string save();

  const Heard& heard() const { return heard_; }
  uint64_t events() const { return events_; }
  uint64_t records() const { return records_; }
  bool usable() const { return reader_ != nullptr && status_ == GIRDLE_OK; }
  girdle_status status() const { return status_; }

 private:
  // What a newer host has behind what version 1 of the ABI knows.
  template <class Struct>
  struct Longer {
    Struct known;
    std::array<unsigned char, 64> more;
  };

  static girdle_status on_emit(const girdle_reader_host* host, const girdle_record* record);
  static girdle_status on_aside(const girdle_reader_host* host, const girdle_aside* aside);
  static void on_refuse(const girdle_reader_host* host, girdle_text reason);
  static const void* on_extension(const girdle_reader_host* host, const char* id);
  static Session* of(const girdle_reader_host* host, const char* function);

  void create(std::string_view resume);
  std::string setup_block(std::string_view resume) const;
  bool after_call(girdle_status status, bool finished);
  void ask_consumed(bool finished);
  girdle_status take(const girdle_record* record);
  girdle_status take(const girdle_aside* aside);
  girdle_status answer();

  bool may_call(const char* function);
  bool is_sound(const girdle_record& record);
  bool are_sound(const girdle_text* texts, size_t count, const char* of);
  void look_at_names(const girdle_record& record);
  void look_at_layout(const girdle_record& record);
  void look_at_place(bool aside, uint64_t offset, uint64_t length);
  void look_at_line(uint64_t line);
  bool look_at_reason(const girdle_text& reason, const char* rule, const char* of);
  void breach(std::string_view rule, std::string_view what, std::string_view right) {
    trial_.fault(rule, what, right);
  }

  template <class Function>
  auto call(Call which, Function function);

  Trial& trial_;
  const girdle_reader_descriptor& descriptor_;
  const Terms terms_;
  LentMemory setup_memory_;
  // In turns, so that what an earlier feed had is not what the next one has.
  std::array<LentMemory, 3> fed_memory_;
  Longer<girdle_reader_host> host_;
  girdle_reader* reader_ = nullptr;
  std::string refusal_;
  unsigned refusals_ = 0;

  enum class Phase { kCreating, kFeeding, kOther } phase_ = Phase::kCreating;
  girdle_status status_ = GIRDLE_OK;
  bool stopped_ = false, threw_ = false;
  uint64_t calls_after_stop_ = 0;
  uint64_t feeds_ = 0, fed_ = 0, consumed_ = 0, told_ = 0, line_ = 0, events_ = 0, records_ = 0;
  bool nothing_told_ = false;  // an aside without bytes at told_
  std::map<uint32_t, std::string> layouts_;
  Heard heard_;
};

}  // namespace girdle::vet
