#include "draft/trial.h"

#include <girdle/reader.h>

#include <algorithm>
#include <exception>
#include <utility>

#include "base/text.h"
#include "reading/blocking_wait.h"
#include "reading/lent_text.h"
#include "reading/library.h"
#include "reading/library_carrier.h"
#include "reading/process_carrier.h"

namespace girdle::draft {
namespace {

using reading::view;

constexpr uint64_t kMaxRecordBytes = 1 << 20;  // as an intake without max_record
constexpr uint64_t kMaxFields = 1'000;

// The host's side, for one sample.
class Hearing {
 public:
  Hearing(Trial& trial, size_t sample) : trial_(trial), sample_(sample) {
    host_.size = sizeof host_;
    host_.abi = GIRDLE_READER_ABI;
    host_.context = this;
    host_.emit = &on_emit;
    host_.aside = &on_aside;
    host_.refuse = &on_refuse;
    host_.extension = [](const girdle_reader_host*, const char*) -> const void* { return nullptr; };
  }
  Hearing(const Hearing&) = delete;
  Hearing& operator=(const Hearing&) = delete;

  const girdle_reader_host& host() const { return host_; }

 private:
  static Hearing& of(const girdle_reader_host* host) {
    return *static_cast<Hearing*>(host->context);
  }

  // No exception may pass through a reader.
  static girdle_status on_emit(const girdle_reader_host* host, const girdle_record* record) noexcept
      try {
    of(host).take(*record);
    return GIRDLE_OK;
  } catch (const std::exception&) {
    return GIRDLE_STOP;
  }
  static girdle_status on_aside(const girdle_reader_host* host, const girdle_aside* aside) noexcept
      try {
    Hearing& hearing = of(host);
    hearing.trial_.asides.push_back({hearing.sample_, aside->line, aside->offset, aside->length,
                                     base::excerpt(view(aside->reason), 300)});
    return GIRDLE_OK;
  } catch (const std::exception&) {
    return GIRDLE_STOP;
  }
  static void on_refuse(const girdle_reader_host* host, girdle_text reason) noexcept try {
    of(host).trial_.refusal = base::excerpt(view(reason), 300);
  } catch (const std::exception&) {
    // The refusal is told all the same, without its reason: there is no reader.
  }

  void take(const girdle_record& given) {
    RawRecord& record = trial_.records.emplace_back();
    record.line = given.line;
    record.sample = sample_;
    for (size_t i = 0; i < given.count; ++i) {
      record.fields.emplace_back(view(given.names[i]), view(given.values[i]));
    }
  }

  Trial& trial_;
  const size_t sample_;
  girdle_reader_host host_{};
};

void read_sample(reading::Carriage& carriage, const girdle_reader_setup& setup,
                 const Sample& sample, size_t number, Trial& trial) {
  Hearing hearing(trial, number);
  const auto carrier = carriage.begin(hearing.host(), setup);
  if (carrier == nullptr) {
    if (trial.refusal.empty()) trial.refusal = "it does not begin, and gives no reason";
    return;
  }
  carrier->feed(sample.bytes);
  carrier->end(true);
  while (const auto wait = carrier->step()) {
    if (trial.refusal = carrier->trouble(); !trial.refusal.empty()) return;
    reading::block(*wait);
  }
  if (carrier->refused()) {
    if (trial.refusal.empty()) trial.refusal = "it does not begin, and gives no reason";
    return;
  }
  trial.refusal = carrier->failure();
  if (!trial.refusal.empty()) return;
  if (carrier->answer().status != GIRDLE_OK) trial.refusal = "it gave up in the middle";
}

base::Result<std::unique_ptr<reading::Carriage>> carry(
    const reading::Manifest& manifest, const reading::Options& options,
    const std::optional<reading::Isolation>& isolation) {
  if (isolation) {
    auto carriage = reading::carry_to_process({manifest, options, kMaxRecordBytes, kMaxFields}, *isolation);
    if (auto started = carriage->try_start(); !started) return started.error();
    return carriage;
  }
  auto library = reading::Library::load(manifest);
  if (!library) return library.error();
  return reading::carry_in_process(std::move(library).value());
}

void read_samples(reading::Carriage& carriage, const reading::Options& options,
                  const Samples& samples, Trial& trial) {
  std::vector<girdle_option> lent;
  for (const auto& [name, value] : options) {
    lent.push_back({{name.data(), name.size()}, {value.data(), value.size()}});
  }
  girdle_reader_setup setup{};
  setup.size = sizeof setup;
  setup.max_record_bytes = kMaxRecordBytes;
  setup.max_fields = kMaxFields;
  setup.option_count = lent.size();
  setup.options = lent.data();
  for (size_t i = 0; i < samples.size() && trial.refusal.empty(); ++i) {
    read_sample(carriage, setup, samples[i], i, trial);
  }
}

}  // namespace

uint64_t Trial::bytes_aside() const {
  uint64_t bytes = 0;
  for (const RawAside& aside : asides) bytes += aside.length + 1;
  return bytes;
}

Trial try_reader(const reading::Catalogue& catalogue, const std::string& reader,
                 const reading::Options& options, const Samples& samples,
                 const std::optional<reading::Isolation>& isolation) {
  const auto refused = [](std::string why) {
    Trial trial;
    trial.refusal = std::move(why);
    return trial;
  };
  const reading::Manifest* const manifest = catalogue.find(reader);
  if (manifest == nullptr) return refused("there is no reader " + reader);
  if (const auto wrong = check_options(*manifest, options); !wrong.empty()) {
    return refused(wrong.front().second);
  }
  const reading::Options all = reading::with_defaults(*manifest, options);
  auto carriage = carry(*manifest, all, isolation);
  if (!carriage) return refused(carriage.error().text);
  Trial trial;
  read_samples(**carriage, all, samples, trial);
  return trial;
}

}  // namespace girdle::draft
