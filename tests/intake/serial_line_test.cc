#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/file.h>
#include <sys/ioctl.h>

#include "intake/intake.h"
#include "intake/serial_port.h"
#include "loop.h"
#include "temp_folder.h"
#include "terminal.h"

// tty.* and serial.* below were measured on ptys under Linux 6.18 with Boost 1.81; modes in
// termios(3).

namespace girdle::intake {
namespace {

using namespace std::chrono_literals;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class SerialLineTest : public testing::Test {
 protected:
  SerialLineTest() {
    settings.name = "counter-2-line";
    serial.device = terminal.device();
  }
  ~SerialLineTest() override { loop.stop(); }

  void make() {
    settings.source = serial;
    auto made = make_intake(settings, loop.sink, loop.clock, loop.log, loop.context.get_executor());
    ASSERT_TRUE(made.ok()) << made.error().text;
    intake = std::move(made).value();
  }
  void start() {
    make();
    loop.start(*intake);
    ASSERT_TRUE(loop.until([&] { return intake->status().up; }));
  }
  bool comes(const std::vector<std::string>& frames) {
    return loop.until([&] { return taken() == frames; });
  }
  std::vector<std::string> taken() const {
    std::vector<std::string> out;
    for (const auto& one : loop.sink.taken) out.push_back(one.bytes);
    return out;
  }
  size_t logged(std::string_view text) const {
    const std::string log = loop.log.text();
    size_t count = 0;
    for (size_t at = log.find(text); at != std::string::npos; at = log.find(text, at + 1)) ++count;
    return count;
  }

  Terminal terminal;
  Loop loop;
  config::Intake settings;
  config::SerialIntake serial;
  std::unique_ptr<Intake> intake;
};

TEST_F(SerialLineTest, MakesADocumentOfEachFrame) {
  base::ManualClock clock(base::from_millis(1767225600250));
  settings.source = serial;
  auto made = make_intake(settings, loop.sink, clock, loop.log, loop.context.get_executor());
  ASSERT_TRUE(made.ok());
  intake = std::move(made).value();
  loop.start(*intake);
  ASSERT_TRUE(loop.until([&] { return intake->status().up; }));
  terminal.send("R1042;natural\r\n");
  ASSERT_TRUE(comes({"R1042;natural"}));
  const model::Document& document = loop.sink.taken[0].document;
  EXPECT_EQ(document.digest, base::sha256("R1042;natural"));
  EXPECT_EQ(document.intake, "counter-2-line");
  EXPECT_EQ(document.name, terminal.device());
  EXPECT_EQ(document.size, 13u);
  EXPECT_EQ(base::to_millis(document.came_at), 1767225600250);
  EXPECT_TRUE(loop.sink.taken[0].whole);
  EXPECT_FALSE(loop.sink.taken[0].position.has_value());
}

TEST_F(SerialLineTest, JoinsAFrameThatComesInPieces) {
  start();
  terminal.send("R10");
  loop.run_for(60ms);  // longer than any gap that a converter makes: gaps mean nothing
  terminal.send("42;nat");
  loop.run_for(60ms);
  EXPECT_THAT(taken(), IsEmpty());
  terminal.send("ural\r");
  EXPECT_TRUE(comes({"R1042;natural"}));
}

// A device that sends the same frame again is casework's concern.
TEST_F(SerialLineTest, HandsOverARepeatedFrameEachTime) {
  start();
  terminal.send("same\nsame\n");
  EXPECT_TRUE(comes({"same", "same"}));
}

// tty.cooked.cr: in the default mode 02 61 62 63 0D arrives as 02 61 62 63 0A, and is echoed to the
// device. tty.cooked.nak: NAK erases the text before it. tty.cooked.eot: EOT is an end of file.
// tty.cooked.xoff: DC3 and DC1 are swallowed.
TEST_F(SerialLineTest, LetsEveryByteThroughAndEchoesNone) {
  serial.framing.kind = config::Framing::Kind::kBlock;
  start();
  std::string every;
  for (int byte = 0; byte < 256; ++byte) {
    if (byte != 2 && byte != 3) every += static_cast<char>(byte);
  }
  terminal.send("\x02" + every + "\x03");
  ASSERT_TRUE(comes({every}));
  EXPECT_EQ(terminal.received(), "");
}

// serial.asio.open and serial.asio.even: Asio's own open leaves IGNPAR set and PARMRK unset, so
// that bad bytes vanish or arrive as zeros.
TEST_F(SerialLineTest, SetsARawModeInWhichErrorsAreMarked) {
  serial.baud = 19200;
  start();
  const termios mode = terminal.mode();
  EXPECT_EQ(mode.c_lflag & (ICANON | ECHO | ECHONL | ISIG | IEXTEN), 0u);
  EXPECT_EQ(mode.c_iflag &
                (IXON | IXOFF | IXANY | ICRNL | INLCR | IGNCR | ISTRIP | IGNPAR | IGNBRK | BRKINT),
            0u);
  EXPECT_EQ(mode.c_iflag & (INPCK | PARMRK), tcflag_t{INPCK | PARMRK});
  EXPECT_EQ(mode.c_cflag & (CLOCAL | CREAD), tcflag_t{CLOCAL | CREAD});
  EXPECT_EQ(mode.c_cflag & CRTSCTS, 0u);
  EXPECT_EQ(mode.c_cc[VMIN], 1);
  EXPECT_EQ(mode.c_cc[VTIME], 0);
  EXPECT_EQ(::cfgetispeed(&mode), speed_t{B19200});
}

// termios(3), PARMRK: a byte with an error comes as FF 00 and the byte. A pty has no errors of its
// own, so the test takes PARMRK away, which leaves the mark that it sends as it is.
TEST_F(SerialLineTest, SetsAsideAFrameWithAParityError) {
  start();
  termios mode = terminal.mode();
  mode.c_iflag &= ~static_cast<tcflag_t>(PARMRK);
  terminal.set_mode(mode);
  terminal.send(
      std::string("R10\xFF\0"
                  "42;natural\r\nR1043;natural\r\n",
                  31));
  ASSERT_TRUE(comes({"R1043;natural"}));
  ASSERT_TRUE(loop.until([&] { return loop.sink.refused.size() == 1; }));
  EXPECT_THAT(loop.sink.refused[0].aside.reason, HasSubstr("parity"));
  EXPECT_EQ(loop.sink.refused[0].aside.bytes, "R1042;natural");
}

TEST_F(SerialLineTest, SetsAsideGarbageAndReadsWhatFollows) {
  serial.framing.kind = config::Framing::Kind::kBlock;
  serial.framing.check = "xor8";
  start();
  terminal.send("AT+GMM\r\x02R1042\x03");
  terminal.send(
      "\x58\x02"
      "00\x03\x03");  // the first check is wrong; the second is ETX
  ASSERT_TRUE(comes({"00"}));
  ASSERT_TRUE(loop.until([&] { return loop.sink.refused.size() == 2; }));
  EXPECT_EQ(loop.sink.refused[0].aside.bytes, "AT+GMM\r");
  EXPECT_THAT(loop.sink.refused[1].aside.reason, HasSubstr("block check xor8"));
  EXPECT_EQ(intake->status().set_aside, 2u);
}

// serial.hangup.raw: after a hang-up read gives 0 and tcgetattr EIO. serial.asio.hangup: each new
// wait ends at once.
TEST_F(SerialLineTest, OpensTheDeviceAgainByItsNameAfterAHangUp) {
  const TempFolder folder;
  terminal.name(folder / "by-id");
  serial.device = folder / "by-id";
  start();
  terminal.send("one\nhal");
  ASSERT_TRUE(comes({"one"}));
  ASSERT_TRUE(loop.until([&] { return true; }));
  loop.run_for(50ms);
  terminal.unplug();
  ASSERT_TRUE(loop.until([&] { return !intake->status().up; }));
  ASSERT_TRUE(loop.until([&] { return loop.sink.refused.size() == 1; }));
  EXPECT_EQ(loop.sink.refused[0].aside.bytes, "hal");
  terminal.plug_in();
  ASSERT_TRUE(loop.until([&] { return intake->status().up; }));
  terminal.send("two\n");
  EXPECT_TRUE(comes({"one", "two"}));
  EXPECT_EQ(logged("the line is not there"), 1u);
  EXPECT_EQ(logged("the line is back"), 1u);
  EXPECT_EQ(intake->status().connects, 2u);
}

TEST_F(SerialLineTest, DoesNotSpinWhileTheDeviceIsGone) {
  const TempFolder folder;
  terminal.name(folder / "by-id");
  serial.device = folder / "by-id";
  start();
  terminal.unplug();
  ASSERT_TRUE(loop.until([&] { return !intake->status().up; }));
  const auto end = std::chrono::steady_clock::now() + 400ms;
  size_t handlers = 0;
  while (std::chrono::steady_clock::now() < end) handlers += loop.context.run_one_for(10ms);
  EXPECT_LT(handlers, 20u);
}

// An end of file may pass: EOT in the canonical mode gives one (tty.cooked.eot), and the terminal
// is still there.
TEST_F(SerialLineTest, AnEndOfFileThatPassesIsNoHangUp) {
  start();
  const termios raw = terminal.mode();
  termios cooked = raw;
  cooked.c_lflag |= ICANON;
  cooked.c_cc[VEOF] = 4;
  terminal.set_mode(cooked);
  terminal.send("\x04");
  loop.run_for(50ms);
  terminal.set_mode(raw);
  terminal.send("after\n");
  ASSERT_TRUE(comes({"after"}));
  EXPECT_EQ(intake->status().connects, 1u);
}

// serial.asio.excl, serial.steal: without a lock a second opener gets every other byte.
// serial.flock: EAGAIN even for root.
TEST_F(SerialLineTest, NamesTheProcessThatHoldsTheDeviceOnceAndTriesAgain) {
  const int other = ::open(terminal.device().c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC | O_NONBLOCK);
  ASSERT_EQ(::flock(other, LOCK_EX | LOCK_NB), 0);
  const termios before = terminal.mode();
  make();
  loop.start(*intake);
  ASSERT_TRUE(loop.until([&] { return !intake->status().trouble.empty(); }));
  EXPECT_THAT(intake->status().trouble, HasSubstr("process " + std::to_string(::getpid())));
  EXPECT_EQ(terminal.mode().c_lflag, before.c_lflag)
      << "the mode of a device that another holds was changed";
  loop.run_for(900ms);  // at least two more attempts
  EXPECT_EQ(logged("the line is not there"), 1u);
  ::close(other);
  ASSERT_TRUE(loop.until([&] { return intake->status().up; }));
  terminal.send("mine\n");
  EXPECT_TRUE(comes({"mine"}));
}

// serial.flock and serial.tiocexcl.
TEST_F(SerialLineTest, LocksTheDeviceAgainstOthersAndLetsGoOfIt) {
  // Opened before: later only root could.
  const int other = ::open(terminal.device().c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC | O_NONBLOCK);
  ASSERT_GE(other, 0);
  start();
  EXPECT_NE(::flock(other, LOCK_EX | LOCK_NB), 0);
  int is_exclusive = 0;
  ASSERT_EQ(::ioctl(other, TIOCGEXCL, &is_exclusive), 0);
  EXPECT_EQ(is_exclusive, 1);
  loop.stop();
  intake.reset();
  EXPECT_EQ(::flock(other, LOCK_EX | LOCK_NB), 0);
  ASSERT_EQ(::ioctl(other, TIOCGEXCL, &is_exclusive), 0);
  EXPECT_EQ(is_exclusive, 0);
  ::close(other);
}

TEST_F(SerialLineTest, WaitsForADeviceThatIsNotThereYet) {
  const TempFolder folder;
  serial.device = folder / "by-id";
  make();
  loop.start(*intake);
  ASSERT_TRUE(loop.until([&] { return !intake->status().trouble.empty(); }));
  terminal.name(folder / "by-id");
  EXPECT_TRUE(loop.until([&] { return intake->status().up; }));
}

TEST_F(SerialLineTest, RefusesWhatIsNoTerminal) {
  serial.device = "/dev/null";
  const auto opened = open_serial_port(serial);
  ASSERT_FALSE(opened.ok());
  EXPECT_THAT(opened.error().text, HasSubstr("no serial device"));
}

// A pty has no parity bit: the driver takes the setting away again.
TEST_F(SerialLineTest, SaysWhatTheDriverDidNotTake) {
  serial.data_bits = 7;
  serial.parity = config::SerialIntake::Parity::kEven;
  const auto opened = open_serial_port(serial);
  ASSERT_TRUE(opened.ok()) << opened.error().text;
  EXPECT_THAT(opened->doubt, HasSubstr("parity"));
}

TEST_F(SerialLineTest, OffersAFrameAgainAfterAFailedCommit) {
  start();
  loop.sink.fails = [](int number) { return number == 1 || number == 3; };
  terminal.send("one\ntwo\n");
  ASSERT_TRUE(loop.until([&] { return loop.sink.taken.size() == 2; }));
  EXPECT_THAT(taken(), testing::UnorderedElementsAre("one", "two"));
  EXPECT_EQ(intake->status().failed, 2u);
}

TEST_F(SerialLineTest, StopsReadingWhileTooManyFramesWaitForTheirCommit) {
  loop.sink.holds_back = true;
  start();
  const std::string line(20, 'x');
  // At most 4 KiB at a time: the terminal's own buffer holds no more.
  for (int sent = 0; sent < 1000; sent += 100) {
    for (int i = 0; i < 100; ++i) terminal.send(line + "\n");
    ASSERT_TRUE(loop.until([&] { return loop.sink.in_flight == sent + 100; }));
  }
  for (int i = 0; i < 100; ++i) terminal.send(line + "\n");
  ASSERT_TRUE(loop.until([&] { return loop.sink.in_flight >= 1024; }));
  loop.run_for(50ms);
  const int stopped_at = loop.sink.in_flight;
  for (int i = 0; i < 100; ++i) terminal.send("y\n");
  loop.run_for(50ms);
  EXPECT_EQ(loop.sink.in_flight, stopped_at);
  loop.sink.holds_back = false;
  loop.sink.release();
  EXPECT_TRUE(loop.until([&] { return loop.sink.taken.size() == 1200; }));
}

TEST_F(SerialLineTest, StopsAtOnce) {
  auto best = std::chrono::steady_clock::duration::max();
  for (int i = 0; i < 5; ++i) {
    start();
    const auto began = std::chrono::steady_clock::now();
    loop.stop();
    best = std::min(best, std::chrono::steady_clock::now() - began);
  }
  EXPECT_LT(best, 100ms);
}

TEST_F(SerialLineTest, RefusesSettingsThatNoDeviceHas) {
  const auto refused = [&](auto change) {
    config::SerialIntake wrong = serial;
    change(wrong);
    settings.source = wrong;
    const auto made =
        make_intake(settings, loop.sink, loop.clock, loop.log, loop.context.get_executor());
    return made.ok() ? std::string() : made.error().text;
  };
  // serial.asio.baud: only the rates of termios' table.
  EXPECT_THAT(refused([](auto& wrong) { wrong.baud = 250000; }), HasSubstr("baud 250000"));
  EXPECT_THAT(refused([](auto& wrong) { wrong.data_bits = 9; }), HasSubstr("data_bits"));
  EXPECT_THAT(refused([](auto& wrong) { wrong.stop_bits = 0; }), HasSubstr("stop_bits"));
  EXPECT_THAT(refused([](auto& wrong) { wrong.device = ""; }), HasSubstr("names no device"));
  EXPECT_THAT(refused([](auto& wrong) { wrong.framing.max_bytes = 0; }), HasSubstr("max_bytes"));
  EXPECT_EQ(refused([](auto&) {}), "");
}

}  // namespace
}  // namespace girdle::intake
