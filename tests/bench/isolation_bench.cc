// What it costs that a reader has a process of its own: a lone record, and whole documents, with
// reader, mapping and the service's way of waiting. Each pair is measured one right after the
// other, so that whatever else the machine does meets both. Build with CMAKE_BUILD_TYPE=Release.
//
//   girdle_isolation_bench [PAIRS]
#include <algorithm>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/io_context.hpp>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <thread>
#include <vector>

#include "reading/reader.h"
#include "service/reader_wait.h"

namespace girdle::service {
namespace {

namespace asio = boost::asio;
using reading::Reader;
using std::chrono::steady_clock;

constexpr size_t kSliceBytes = 64 << 10;  // as intake_sink.cc feeds
constexpr int kRows = 10'000;
constexpr const char* kFields[] = {"instrument", "run",   "measured_at", "stock_number",
                                   "finding",    "carat", "color",       "temperature_c"};

model::Mapping mapping() {
  model::Mapping mapping;
  for (const char* field : kFields) {
    model::FieldRule rule;
    rule.field = field;
    rule.from = {field};
    if (rule.field == "measured_at") rule.form = "rfc3339";
    if (rule.field == "finding") {
      rule.has_words = true;
      rule.words = {{"A", "natural"}, {"B", "simulant"}};
    }
    mapping.fields.push_back(std::move(rule));
  }
  return mapping;
}

std::string document(int rows) {
  std::string text;
  for (const char* field : kFields) text += std::string(text.empty() ? "" : ",") + field;
  text += '\n';
  for (int n = 0; n < rows; ++n) {
    text += "A-0117," + std::to_string(100'000 + n) + ",2026-11-02T10:15:30+01:00,R" +
            std::to_string(10'000 + n / 3) + ",A,0.53,F,21.5\n";
  }
  return text;
}

[[noreturn]] void give_up(const std::string& why) {
  std::fprintf(stderr, "%s\n", why.c_str());
  std::exit(3);
}

asio::awaitable<void> answered(reading::DocumentReading& document, ReaderWait& wait_for) {
  while (const auto wait = document.step()) co_await wait_for.until(*wait);
}

asio::awaitable<void> read(Reader& reader, std::string_view text, ReaderWait& wait,
                           model::Records& records) {
  auto document = reader.begin();
  if (text.size() <= kSliceBytes) {
    document->start_all(text, true, records);
    co_await answered(*document, wait);
    co_return;
  }
  for (size_t at = 0; at < text.size(); at += kSliceBytes) {
    document->start_feed(text.substr(at, kSliceBytes), records);
    co_await answered(*document, wait);
  }
  document->start_finish(true, records);
  co_await answered(*document, wait);
}

class Side {
 public:
  explicit Side(bool isolated) {
    reading::Choice choice;
    choice.reader = "delimited";
    choice.mapping = mapping();
    choice.timezone = "Europe/Brussels";
    if (isolated) choice.isolation.emplace().host = GIRDLE_READER_HOST;
    auto reader = Reader::open(reading::Catalogue::scan({GIRDLE_READER_FOLDER}, nullptr), choice);
    if (!reader) give_up(reader.error().text);
    reader_ = std::move(reader).value();
  }

  // Microseconds for one document.
  double time(const std::string& text, size_t rows) {
    model::Records records;
    const auto began = steady_clock::now();
    asio::co_spawn(loop_, read(*reader_, text, wait_, records), asio::detached);
    loop_.restart();
    loop_.run();
    const std::chrono::duration<double, std::micro> took = steady_clock::now() - began;
    if (records.readings.size() != rows) give_up("records are missing");
    return took.count();
  }

 private:
  asio::io_context loop_;
  ReaderWait wait_{loop_.get_executor()};
  std::shared_ptr<Reader> reader_;
};

double median(std::vector<double> values) {
  std::nth_element(values.begin(), values.begin() + values.size() / 2, values.end());
  return values[values.size() / 2];
}

void lone_record(Side& here, Side& there, int pairs) {
  const std::string text = document(1);
  std::vector<double> in, out;
  for (int i = 0; i < pairs; ++i) {
    // As records of a shop come: everybody has gone to sleep in between.
    const std::chrono::milliseconds pause(2);
    std::this_thread::sleep_for(pause);
    in.push_back(here.time(text, 1));
    std::this_thread::sleep_for(pause);
    out.push_back(there.time(text, 1));
  }
  std::printf("lone record, p50: in process %.1f us, out of process %.1f us\n", median(in),
              median(out));
  std::printf("added to a lone record's p50 (must 100 us, goal 60): %.1f us\n",
              median(out) - median(in));
}

void documents(Side& here, Side& there, int pairs) {
  const std::string text = document(kRows);
  std::vector<double> in, ratios;
  for (int i = 0; i < pairs; ++i) {
    in.push_back(here.time(text, kRows));
    ratios.push_back(in.back() / there.time(text, kRows));
  }
  std::printf("%d records, in process: %.0f records a second\n", kRows, kRows / median(in) * 1e6);
  std::printf("reader and mapping alone, rate out of process against in process: %.2f\n",
              median(ratios));
}

}  // namespace
}  // namespace girdle::service

int main(int argc, char** argv) {
  const int pairs = argc > 1 ? std::atoi(argv[1]) : 1000;
  girdle::service::Side here(false), there(true);
  girdle::service::lone_record(here, there, pairs);
  girdle::service::documents(here, there, std::max(pairs / 10, 1));
}
