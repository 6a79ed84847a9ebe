#include "service/control.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/use_future.hpp>
#include <fstream>
#include <mutex>
#include <thread>

#include "service/control_socket.h"
#include "service/temp_ledger.h"

namespace girdle::service {
namespace {

namespace asio = boost::asio;
using std::chrono::milliseconds;
using testing::HasSubstr;
using Clock = std::chrono::steady_clock;

std::string resend_line(int64_t delivery) {
  ResendRequest request;
  request.selection.delivery = delivery;
  return to_line(request);
}

// A service's thread with a control, and what it was asked to do.
class Serving {
 public:
  explicit Serving(const std::filesystem::path& ledger, const Control::Options& options = Control::Options())
      : work_(context_.get_executor()) {
    auto opened = Control::open(
        context_.get_executor(), ledger,
        [this](ControlRequest request, Control::Done done) { take(std::move(request), std::move(done)); },
        base::Log::to_nowhere(), options);
    EXPECT_TRUE(opened.ok()) << (opened ? "" : opened.error().text);
    control_ = std::move(opened).value();
    control_->start();
    thread_ = std::thread([this] { context_.run(); });
  }
  ~Serving() { stop(); }

  void stop() {
    if (!thread_.joinable()) return;
    asio::co_spawn(context_, control_->stop(), asio::use_future).get();
    work_.reset();
    thread_.join();
    control_.reset();
    writers_.clear();
  }

  // Unless it is told to, nothing is answered.
  void answer_with(base::Result<ControlAnswer> answer) {
    const std::lock_guard lock(mutex_);
    answer_ = std::move(answer);
  }
  std::vector<ControlRequest> asked() {
    const std::lock_guard lock(mutex_);
    return asked_;
  }
  // Answers what was left open, late.
  void answer_all() {
    const std::lock_guard lock(mutex_);
    for (const Control::Done& done : open_) done(ControlAnswer());
    open_.clear();
  }

 private:
  void take(ControlRequest request, Control::Done done) {
    const std::lock_guard lock(mutex_);
    asked_.push_back(std::move(request));
    if (!answer_) return open_.push_back(std::move(done));
    // As the writer does it: from another thread, later.
    writers_.emplace_back([answer = *answer_, done = std::move(done)] { done(answer); });
  }

  asio::io_context context_;
  asio::executor_work_guard<asio::io_context::executor_type> work_;
  std::unique_ptr<Control> control_;
  std::thread thread_;
  std::mutex mutex_;
  std::vector<ControlRequest> asked_;
  std::vector<Control::Done> open_;
  std::optional<base::Result<ControlAnswer>> answer_;
  std::vector<std::jthread> writers_;
};

class ControlTest : public testing::Test {
 protected:
  // A connection that says what the test likes.
  base::Descriptor connect() {
    auto place = ControlSocket::beside(ledger());
    EXPECT_TRUE(place.ok());
    auto connected = place->connect(5);
    EXPECT_TRUE(connected.ok() && *connected);
    return std::move(**connected);
  }
  static void say(const base::Descriptor& socket, std::string_view bytes) {
    while (!bytes.empty()) {
      const ssize_t sent = ::send(socket.get(), bytes.data(), bytes.size(), MSG_NOSIGNAL);
      if (sent <= 0) return;
      bytes.remove_prefix(static_cast<size_t>(sent));
    }
  }
  // All that comes until the other end closes.
  static std::string hear(const base::Descriptor& socket) {
    std::string heard;
    char piece[512];
    for (ssize_t got = 0; (got = ::recv(socket.get(), piece, sizeof piece, 0)) > 0;) {
      heard.append(piece, static_cast<size_t>(got));
    }
    return heard;
  }
  std::string answer_to(std::string_view bytes) {
    const auto socket = connect();
    say(socket, bytes);
    return hear(socket);
  }

  std::filesystem::path ledger() const { return folder_.path() / "ledger.db"; }
  std::filesystem::path socket_path() const { return folder_.path() / "ledger.db.control"; }

  TempFolder folder_;
};

TEST_F(ControlTest, CarriesARequestThereAndTheAnswerBack) {
  Serving service(ledger());
  ControlAnswer answer;
  answer.resent = {3, 1, 2};
  service.answer_with(answer);
  ResendRequest request;
  request.selection.stock_number = "R10*";
  request.selection.parked = true;
  request.selection.since = base::from_millis(1793614530000);
  request.selection.outlet = "till";
  const auto got = ask(ledger(), request);
  ASSERT_TRUE(got.ok()) << got.error().text;
  ASSERT_TRUE(*got);
  EXPECT_EQ((*got)->resent.again, 3);
  EXPECT_EQ((*got)->resent.overtaken, 1);
  EXPECT_EQ((*got)->resent.waiting, 2);
  ASSERT_EQ(service.asked().size(), 1u);
  EXPECT_EQ(to_line(service.asked().front()), to_line(ControlRequest(request)));
}

TEST_F(ControlTest, CarriesEveryKindOfRequest) {
  Serving service(ledger());
  ControlAnswer answer;
  answer.changed = true;
  service.answer_with(answer);
  ResendRequest resend;
  resend.selection.delivery = 7;
  const std::vector<ControlRequest> requests = {resend, PauseRequest{"till", "ann: it is moved \xC3\xA9"},
                                                ResumeRequest{"till"},
                                                AddTokenRequest{"counter-1", "work", base::sha256("gt_secret")},
                                                RevokeTokenRequest{"counter-1"}};
  for (const ControlRequest& request : requests) {
    const auto got = ask(ledger(), request);
    ASSERT_TRUE(got.ok() && *got);
    EXPECT_TRUE((*got)->changed);
  }
  const auto asked = service.asked();
  ASSERT_EQ(asked.size(), requests.size());
  for (size_t i = 0; i < asked.size(); ++i) EXPECT_EQ(to_line(asked[i]), to_line(requests[i]));
}

TEST_F(ControlTest, TellsARefusalAndAFailure) {
  Serving service(ledger());
  ControlAnswer refused;
  refused.refused = "there is no outlet \"til\"; there is till";
  service.answer_with(refused);
  const auto got = ask(ledger(), ResumeRequest{"til"});
  ASSERT_TRUE(got.ok() && *got);
  EXPECT_EQ((*got)->refused, refused.refused);
  service.answer_with(base::environment_error("the disk is full"));
  const auto failed = ask(ledger(), ResumeRequest{"till"});
  ASSERT_FALSE(failed.ok());
  EXPECT_EQ(failed.error().fault, base::Fault::kEnvironment);
  EXPECT_EQ(failed.error().text, "the disk is full");
}

TEST_F(ControlTest, SaysThatNoServiceRuns) {
  const auto nothing = ask(ledger(), ResumeRequest{"till"});
  ASSERT_TRUE(nothing.ok());
  EXPECT_FALSE(*nothing);
  { const Serving service(ledger()); }
  EXPECT_FALSE(std::filesystem::exists(socket_path()));
  const auto after = ask(ledger(), ResumeRequest{"till"});
  ASSERT_TRUE(after.ok());
  EXPECT_FALSE(*after);
}

// kill -9: the file stays, and nobody listens.
TEST_F(ControlTest, TakesTheSocketOfADeadServiceForNone) {
  const pid_t child = ::fork();
  if (child == 0) {
    auto place = ControlSocket::beside(ledger());
    auto listening = place->listen();
    ::_exit(listening ? 0 : 1);
  }
  int status = 0;
  ASSERT_EQ(::waitpid(child, &status, 0), child);
  ASSERT_EQ(status, 0);
  ASSERT_TRUE(std::filesystem::is_socket(socket_path()));
  const auto nothing = ask(ledger(), ResumeRequest{"till"});
  ASSERT_TRUE(nothing.ok());
  EXPECT_FALSE(*nothing);
  Serving service(ledger());  // which replaces it
  service.answer_with(ControlAnswer());
  const auto got = ask(ledger(), ResumeRequest{"till"});
  EXPECT_TRUE(got.ok() && *got);
}

TEST_F(ControlTest, ReplacesNothingButASocket) {
  std::ofstream(socket_path()) << "mine";
  const auto opened = Control::open(asio::system_executor(), ledger(), {}, base::Log::to_nowhere());
  ASSERT_FALSE(opened.ok());
  EXPECT_THAT(opened.error().text, HasSubstr("is no socket; move it away"));
  std::filesystem::remove(socket_path());
  std::filesystem::create_symlink(folder_.path() / "elsewhere", socket_path());
  EXPECT_FALSE(Control::open(asio::system_executor(), ledger(), {}, base::Log::to_nowhere()).ok());
  EXPECT_FALSE(std::filesystem::exists(folder_.path() / "elsewhere"));
}

TEST_F(ControlTest, LetsOnlyThisUserConnectWhateverTheUmask) {
  for (const mode_t mask : {0, 022, 077}) {
    const mode_t before = ::umask(mask);
    const Serving service(ledger());
    ::umask(before);
    struct stat status {};
    ASSERT_EQ(::stat(socket_path().c_str(), &status), 0);
    EXPECT_EQ(status.st_mode & 0777, 0600u);
  }
}

// Only root can become another.
TEST_F(ControlTest, TurnsAnotherUserAway) {
  if (::geteuid() != 0) GTEST_SKIP() << "needs root, to become another user";
  Serving service(ledger());
  service.answer_with(ControlAnswer());
  std::filesystem::permissions(folder_.path(), std::filesystem::perms::all);
  for (const bool is_let_in : {false, true}) {
    // As on a file system that does not know modes: then the service itself looks who it is.
    if (is_let_in) std::filesystem::permissions(socket_path(), std::filesystem::perms::all);
    const pid_t child = ::fork();
    if (child == 0) {
      if (::setgid(65534) != 0 || ::setuid(65534) != 0) ::_exit(4);
      const auto got = ask(ledger(), ResumeRequest{"till"}, 5);
      ::_exit(got.ok() ? 3 : 0);
    }
    int status = 0;
    ASSERT_EQ(::waitpid(child, &status, 0), child);
    EXPECT_EQ(WEXITSTATUS(status), 0) << is_let_in;
  }
  EXPECT_TRUE(service.asked().empty());
}

TEST_F(ControlTest, WorksUnderAPathOfAnyLength) {
  std::filesystem::path deep = folder_.path();
  for (int i = 0; i < 10; ++i) deep /= std::string(40, 'd');
  std::filesystem::create_directories(deep);
  Serving service(deep / "ledger.db");
  service.answer_with(ControlAnswer());
  const auto got = ask(deep / "ledger.db", ResumeRequest{"till"});
  ASSERT_TRUE(got.ok()) << got.error().text;
  EXPECT_TRUE(*got);
  const auto long_name = ControlSocket::beside(folder_.path() / std::string(120, 'n'));
  ASSERT_FALSE(long_name.ok());
  EXPECT_THAT(long_name.error().text, HasSubstr("too long for a socket"));
}

TEST_F(ControlTest, SaysWhatIsWrongWithARequest) {
  Serving service(ledger());
  service.answer_with(ControlAnswer());
  EXPECT_THAT(answer_to("hello\n"), HasSubstr("it is no JSON object"));
  EXPECT_THAT(answer_to("\n"), HasSubstr("it is no JSON object"));
  EXPECT_THAT(answer_to("{\"do\":\"erase\"}\n"), HasSubstr("can resend, pause, resume, add_token and revoke_token"));
  // What was meant to narrow it must not be passed over.
  EXPECT_THAT(answer_to("{\"do\":\"resend\",\"parked\":true,\"only\":\"till\"}\n"), HasSubstr("older version"));
  EXPECT_THAT(answer_to(std::string(70'000, 'x') + "\n"), HasSubstr("longer than 65536 bytes"));
  EXPECT_TRUE(service.asked().empty());
}

TEST_F(ControlTest, HoldsNoConnectionThatSaysNothing) {
  Control::Options options;
  options.for_request = milliseconds(60);
  Serving service(ledger(), options);
  const auto started = Clock::now();
  EXPECT_EQ(hear(connect()), "");
  EXPECT_EQ(answer_to("{\"do\":"), "");
  EXPECT_LT(Clock::now() - started, milliseconds(4'000));
}

TEST_F(ControlTest, ServesOthersWhileSomeAreSilent) {
  Control::Options options;
  options.for_request = milliseconds(150);
  options.most = 2;
  Serving service(ledger(), options);
  service.answer_with(ControlAnswer());
  std::vector<base::Descriptor> silent;
  for (int i = 0; i < 4; ++i) silent.push_back(connect());
  const auto got = ask(ledger(), ResumeRequest{"till"});  // once the silent ones have had their time
  ASSERT_TRUE(got.ok()) << got.error().text;
  EXPECT_TRUE(*got);
}

TEST_F(ControlTest, TellsThatACommitTakesTooLong) {
  Control::Options options;
  options.for_commit = milliseconds(40);
  Serving service(ledger(), options);
  const auto got = ask(ledger(), ResumeRequest{"till"});
  ASSERT_FALSE(got.ok());
  EXPECT_THAT(got.error().text, HasSubstr("did not take it within 40ms"));
  service.answer_all();  // nobody waits any more
  service.answer_with(ControlAnswer());
  EXPECT_TRUE(ask(ledger(), ResumeRequest{"till"}).ok());
}

TEST_F(ControlTest, StopsAtOnceWithRequestsUnderWay) {
  Serving service(ledger());
  const auto silent = connect();
  const auto asking = connect();
  say(asking, resend_line(7) + "\n");
  for (int i = 0; i < 1000 && service.asked().empty(); ++i) std::this_thread::sleep_for(milliseconds(2));
  ASSERT_EQ(service.asked().size(), 1u);
  const auto started = Clock::now();
  service.stop();
  EXPECT_LT(Clock::now() - started, milliseconds(2'000));
  EXPECT_EQ(hear(asking), "");
  service.answer_all();
}

TEST_F(ControlTest, AskerIsToldWhenTheServiceEndsMeanwhile) {
  auto service = std::make_unique<Serving>(ledger());
  std::thread ending([&] {
    while (service->asked().empty()) std::this_thread::sleep_for(milliseconds(1));
    service->stop();
  });
  const auto got = ask(ledger(), ResumeRequest{"till"});
  ending.join();
  ASSERT_FALSE(got.ok());
  EXPECT_THAT(got.error().text, HasSubstr("did not say that it is done"));
}

TEST(ControlRequestTest, ComesOutOfItsLineAsItWentIn) {
  ResendRequest resend;
  resend.selection = {12, "R10*", true, base::from_millis(-5), base::Instant::max(), "till \"1\"\n"};
  for (const ControlRequest& request :
       {ControlRequest(resend), ControlRequest(ResendRequest()), ControlRequest(PauseRequest{"a", "b\tc"}),
        ControlRequest(ResumeRequest{"\xE9\x91\xBD"}),
        ControlRequest(AddTokenRequest{"\"x\"", "look", base::sha256("a")}), ControlRequest(RevokeTokenRequest{"x"})}) {
    const std::string line = to_line(request);
    EXPECT_EQ(line.find('\n'), std::string::npos);
    const auto parsed = parse_request(line);
    ASSERT_TRUE(parsed.ok()) << parsed.error().text;
    EXPECT_EQ(to_line(*parsed), line);
    EXPECT_EQ(parsed->index(), request.index());
  }
  const auto parsed = parse_request(to_line(ControlRequest(resend)));
  const ledger::Selection& selection = std::get<ResendRequest>(*parsed).selection;
  EXPECT_EQ(selection.delivery, 12);
  EXPECT_EQ(selection.stock_number, "R10*");
  EXPECT_TRUE(selection.parked);
  EXPECT_EQ(selection.since, resend.selection.since);
  EXPECT_EQ(selection.until, resend.selection.until);
  EXPECT_EQ(selection.outlet, resend.selection.outlet);
}

TEST(ControlRequestTest, ATokenGoesAsItsDigest) {
  const std::string line = to_line(ControlRequest(AddTokenRequest{"counter-1", "work", base::sha256("abc")}));
  // FIPS 180-4's example of "abc".
  EXPECT_EQ(line, "{\"do\":\"add_token\",\"name\":\"counter-1\",\"role\":\"work\",\"sha256\":"
                  "\"ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad\"}");
  const auto parsed = parse_request(line);
  ASSERT_TRUE(parsed.ok());
  EXPECT_EQ(std::get<AddTokenRequest>(*parsed).digest, base::sha256("abc"));
}

TEST(ControlRequestTest, RefusesWhatItDoesNotUnderstand) {
  for (const char* line : {"", "{}", "[]", "null", "{\"do\":7}", "{\"do\":\"resend\",\"delivery\":\"7\"}",
                           "{\"do\":\"resend\",\"delivery\":-7}", "{\"do\":\"resend\",\"delivery\":7.5}",
                           "{\"do\":\"resend\",\"delivery\":99999999999999999999}", "{\"do\":\"pause\",\"outlet\":null}",
                           "{\"do\":\"resume\",\"outlet\":\"a\",\"why\":\"b\"}", "{\"do\":\"pause\"} {\"do\":\"pause\"}",
                           "{\"do\":\"add_token\",\"name\":\"a\",\"role\":\"look\"}",
                           "{\"do\":\"add_token\",\"name\":\"a\",\"role\":\"look\",\"sha256\":\"e3\"}",
                           "{\"do\":\"revoke_token\",\"name\":\"a\",\"role\":\"look\"}"}) {
    EXPECT_FALSE(parse_request(line).ok()) << line;
  }
}

}  // namespace
}  // namespace girdle::service
