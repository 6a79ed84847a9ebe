#include "delivery/faults.h"

namespace girdle::delivery {
namespace {

using std::chrono::milliseconds;
using Line = BadPeer::Line;

constexpr milliseconds kShort{150}, kEnough{1000};  // enough for a header to come on a busy machine
constexpr std::string_view kRight = "right";
constexpr std::string_view kNoTunnel = "no tunnel that can be used";
constexpr std::string_view kNoJson = "no JSON object";
constexpr std::string_view kNoHttp = "no HTTP";

// Reads a request, answers so, and waits until the client has had enough.
std::function<void(Line&, const RightWay&)> answers(std::string bytes) {
  return [bytes = std::move(bytes)](Line& line, const RightWay&) {
    if (!line.read_request()) return;
    line.write(bytes);
    line.wait_for_close();
  };
}

std::function<void(Line&, const RightWay&)> answers_without_end(std::string first,
                                                                std::string rest) {
  return [first = std::move(first), rest = std::move(rest)](Line& line, const RightWay&) {
    if (!line.read_request() || !line.write(first + rest)) return;
    while (line.write(rest)) {
    }
  };
}

std::function<void(Line&, const RightWay&)> answers_and_closes(std::string bytes) {
  return [bytes = std::move(bytes)](Line& line, const RightWay&) {
    if (line.read_request()) line.write(bytes);
  };
}

void stay_silent(Line& line, const RightWay&) { line.wait_for_close(); }

void answer_byte_by_byte(Line& line, const RightWay& right) {
  if (!line.read_request()) return;
  for (const char c : right.answer) {
    line.write({&c, 1});
    line.wait(milliseconds(1));
  }
  right.go_on(line);
}

void drip(Line& line, const RightWay&) {
  if (!line.read_request()) return;
  line.write("HTTP/1.1 200 OK\r\n");
  while (line.write("a: b\r\n")) line.wait(milliseconds(20));
}

void close_before_reading(Line&, const RightWay&) {}

void close_after_reading(Line& line, const RightWay&) { line.read_request(); }

void reset(Line& line, const RightWay&) {
  line.read_request();
  line.reset();
}

void close_after_the_answer(Line& line, const RightWay& right) {
  if (line.read_request()) line.write(right.answer);
}

std::string chunked(std::string_view body) {
  return "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n" + std::string(body);
}

std::string with(std::string_view fields, std::string_view body = "ok") {
  return "HTTP/1.1 200 OK\r\n" + std::string(fields) + "\r\n\r\n" + std::string(body);
}

std::vector<Fault> connection_faults() {
  return {
      {"Refuses", {}, "Connection refused", "Connection refused", "Connection refused"},
      {"StaysSilent", stay_silent, "took too long", "took too long", "took too long", kShort},
      {"AnswersByteByByte", answer_byte_by_byte, kRight, kRight, kRight},
      {"DripsWithoutEnd", drip, "took too long", "took too long", "took too long", kShort},
      {"ClosesBeforeReading", close_before_reading, "no answer", "no answer", "no answer"},
      {"ClosesBeforeTheAnswer", close_after_reading, "no answer", "no answer", "no answer"},
      {"Resets", reset, "no answer", "no answer", "no answer"},
      {"ClosesInTheHeader", answers_and_closes("HTTP/1.1 200 OK\r\nContent-Le"), "no answer",
       "no answer", "no answer"},
      {"ClosesInTheBody", answers_and_closes(with("Content-Length: 10", "{\"ac")), "answered 200",
       kNoTunnel, kNoJson},
      {"ClosesAfterTheAnswer", close_after_the_answer, kRight, "no answer", kRight},
  };
}

std::vector<Fault> size_faults() {
  return {
      {"SendsAHundredMegabytes",
       answers_without_end(with("Content-Length: 104857600", ""), std::string(1 << 16, 'x')),
       "answered 200", kNoTunnel, "64 KiB"},
      {"SendsChunksWithoutEnd",
       answers_without_end(chunked(""), "400\r\n" + std::string(1024, 'x') + "\r\n"),
       "answered 200", kNoTunnel, "64 KiB"},
      {"SendsABodyWithoutLengthOrEnd",
       answers_without_end("HTTP/1.1 200 OK\r\n\r\n", std::string(1 << 16, 'x')), "answered 200",
       kNoTunnel, "64 KiB"},
      {"SendsOneEndlessHeaderField",
       answers_without_end("HTTP/1.1 200 OK\r\nX: ", std::string(1 << 12, 'x')), kNoHttp, kNoHttp,
       kNoHttp},
      {"SendsHeaderFieldsWithoutEnd", answers_without_end("HTTP/1.1 200 OK\r\n", "x: y\r\n"),
       kNoHttp, kNoHttp, kNoHttp},
      {"SendsInterimAnswersWithoutEnd", answers_without_end("", "HTTP/1.1 103 Early Hints\r\n\r\n"),
       "without end", "without end", "without end"},
      {"SendsAReasonWithoutEnd", answers_without_end("HTTP/1.1 200 ", std::string(1 << 12, 'x')),
       kNoHttp, kNoHttp, kNoHttp},
  };
}

// Beast 1.81's own parser was measured to throw out of io_context::run on the first of these.
std::vector<Fault> chunk_faults() {
  const auto fault = [](std::string_view name, std::string_view body) {
    return Fault{name, answers(chunked(body)), "answered 200", kNoTunnel, kNoJson};
  };
  const std::string trailer = "2\r\nok\r\n0\r\nX: " + std::string(100000, 'x') + "\r\n\r\n";
  const std::string trailers = [] {
    std::string text = "2\r\nok\r\n0\r\n";
    for (int i = 0; i < 20000; ++i) text += "x: y\r\n";
    return text + "\r\n";
  }();
  return {
      fault("SendsATrailerOverSixtyFourKilobytes", trailer),
      fault("SendsTrailersWithoutMeasure", trailers),
      fault("SendsAHugeChunkExtension", "2;a=" + std::string(4000000, 'x')),
      fault("SendsANegativeChunkSize", "-1\r\nok\r\n0\r\n\r\n"),
      fault("SendsAChunkSizeThatOverflows", "fffffffffffffffff\r\nok\r\n0\r\n\r\n"),
      {"SendsTheLargestChunkSize",
       answers(chunked("ffffffffffffffff\r\n" + std::string(100000, 'x'))), "answered 200",
       kNoTunnel, "64 KiB"},
      fault("SendsAChunkSizeThatIsNoNumber", "0x2\r\nok\r\n0\r\n\r\n"),
      fault("SendsAChunkThatIsLongerThanItSays", "2\r\nokay\r\n0\r\n\r\n"),
  };
}

std::vector<Fault> framing_faults() {
  return {
      {"FramesByLengthAndByChunks",
       answers(with("Content-Length: 2\r\nTransfer-Encoding: chunked", "2\r\nok\r\n0\r\n\r\n")),
       kNoHttp, kNoHttp, kNoHttp},
      {"FramesByChunksAndByLength",
       answers(with("Transfer-Encoding: chunked\r\nContent-Length: 2", "2\r\nok\r\n0\r\n\r\n")),
       kNoHttp, kNoHttp, kNoHttp},
      {"SaysTwoLengths", answers(with("Content-Length: 2\r\nContent-Length: 3")), kNoHttp, kNoHttp,
       kNoHttp},
      {"SaysANegativeLength", answers(with("Content-Length: -2")), kNoHttp, kNoHttp, kNoHttp},
      {"SaysALengthThatOverflows", answers(with("Content-Length: 18446744073709551616")), kNoHttp,
       kNoHttp, kNoHttp},
      {"SaysALengthThatIsNoNumber", answers(with("Content-Length: two")), kNoHttp, kNoHttp,
       kNoHttp},
      {"SendsLessThanItSays", answers(with("Content-Length: 1000")), "answered 200", kNoTunnel,
       kNoJson, kEnough},
      {"SendsMoreThanItSays", answers(with("Content-Length: 2", "ok and more")), "answered 200",
       kNoTunnel, kNoJson},
  };
}

std::vector<Fault> answer_faults() {
  const std::string redirect =
      "HTTP/1.1 307 Temporary Redirect\r\nLocation: /hook\r\nContent-Length: 0\r\n\r\n";
  return {
      {"RedirectsToItself", answers(redirect), "answered 307", "answers 307", "answers 307"},
      {"WantsAnotherProtocol", answers("HTTP/1.1 101 Switching Protocols\r\nUpgrade: x\r\n\r\n"),
       "change the protocol", "change the protocol", "change the protocol"},
      {"SpeaksAnotherProtocol", answers("SSH-2.0-OpenSSH_9.2\r\n"), kNoHttp, kNoHttp, kNoHttp},
      {"SpeaksTls", answers(std::string("\x15\x03\x01\x00\x02\x02\x46\r\n\r\n", 11)), kNoHttp,
       kNoHttp, kNoHttp},
      {"AnswersWithNoStatus", answers("HTTP/1.1 999 Odd\r\n\r\n"), "no HTTP status",
       "no HTTP status", "no HTTP status"},
      {"SendsABrokenHeaderLine", answers(with("A : b")), kNoHttp, kNoHttp, kNoHttp},
      {"SendsNulInItsHeader", answers(with(std::string_view("A: \0b", 5))), kNoHttp, kNoHttp,
       kNoHttp},
  };
}

}  // namespace

const std::vector<Fault>& faults() {
  static const std::vector<Fault> all = [] {
    std::vector<Fault> list;
    for (auto part :
         {connection_faults(), size_faults(), chunk_faults(), framing_faults(), answer_faults()}) {
      list.insert(list.end(), part.begin(), part.end());
    }
    return list;
  }();
  return all;
}

}  // namespace girdle::delivery
