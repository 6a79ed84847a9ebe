#include "api/fake_shop.h"

#include <condition_variable>
#include <stdexcept>
#include <thread>

#include "api/problem.h"

namespace girdle::api {
namespace {

std::mutex gate_mutex;
std::condition_variable gate_moved;
bool gate_is_shut = false;
int gate_waiting = 0;

Response tell_caller(const Call& call, Teller&) {
  Response response;
  response.body = std::string(text(call.request.caller.role)) + ' ' + call.request.caller.token;
  return response;
}

void give_back(const Call& call, Desk&, Answer answer) {
  Response response;
  response.body = call.request.body;
  answer(std::move(response));
}

Response tell_much(const Call&, Teller&) {
  static const std::string much(8 << 20, 'x');
  Response response;
  response.view = much;
  return response;
}

Response wait_at_gate(const Call&, Teller&) {
  std::unique_lock lock(gate_mutex);
  ++gate_waiting;
  gate_moved.wait(lock, [] { return !gate_is_shut; });
  --gate_waiting;
  return {};
}

Response fail(const Call&, Teller&) { throw std::runtime_error("the route's own fault"); }
void fail_deed(const Call&, Desk&, Answer) { throw std::runtime_error("the deed's own fault"); }

Response split(const Call&, Teller&) {
  Response response;
  response.headers.emplace_back("X-Note", "a\r\nSet-Cookie: girdle=mine");
  return response;
}

Response stand(const Call&, Teller&, const Standing& standing) {
  Response response;
  response.body = std::to_string(standing.writer.queued);
  return response;
}

void ask_desk(const Call&, Desk& desk, Answer answer) {
  desk.act(Resume{"till"}, [answer = std::move(answer)](DeedAnswer done) {
    Response response;
    response.body = done.json;
    answer(done.kind == DeedAnswer::Kind::kDone ? std::move(response) : problem(done));
  });
}

constexpr Route of_test(Method method, std::string_view pattern, Role role) {
  return method == Method::kGet
             ? Route{.method = method, .pattern = pattern, .role = role, .read = tell_caller}
             : Route{.method = method, .pattern = pattern, .role = role, .most_body = 100'000, .deed = give_back};
}

constexpr Route kRoutes[] = {
    of_test(Method::kGet, "/t/nobody", Role::kNobody),
    of_test(Method::kGet, "/t/look", Role::kLook),
    of_test(Method::kGet, "/t/work", Role::kWork),
    of_test(Method::kGet, "/t/admin", Role::kAdmin),
    of_test(Method::kPost, "/t/nobody", Role::kNobody),
    of_test(Method::kPost, "/t/look", Role::kLook),
    of_test(Method::kPost, "/t/work", Role::kWork),
    of_test(Method::kPost, "/t/admin", Role::kAdmin),
    {.pattern = "/t/big", .read = tell_much},
    {.pattern = "/t/wait", .read = wait_at_gate},
    {.pattern = "/t/throw", .read = fail},
    {.method = Method::kPost, .pattern = "/t/throw", .deed = fail_deed},
    {.pattern = "/t/split", .read = split},
    {.pattern = "/t/stand", .standing = stand},
    {.method = Method::kPost, .pattern = "/t/deed", .deed = ask_desk},
    {.pattern = "/t/forgotten"},
    {.pattern = "/api/v1/session", .role = Role::kLook},
    {.method = Method::kPost, .pattern = "/api/v1/session", .role = Role::kNobody},
    {.method = Method::kDelete, .pattern = "/api/v1/session", .role = Role::kNobody},
    {.pattern = "/api/v1/events", .role = Role::kLook},
    {.pattern = "/health/live", .role = Role::kNobody},
    {.pattern = "/health/ready", .role = Role::kNobody},
    {.pattern = "/metrics", .role = Role::kLook},
};

constexpr ConsoleFile kFiles[] = {
    {"/", "text/html; charset=utf-8", "<!doctype html>", "\"0123\""},
    {"/console/app.js", "text/javascript; charset=utf-8", "export {};", "\"4567\""},
};

std::string line_of(const Happening::Decided& decided) {
  return R"({"bench":"counter-1","instrument":"A-0117","case":{"id":"c-)" + std::to_string(decided.case_number) +
         R"(","sequence":)" + std::to_string(decided.sequence) +
         // A long one, so that few frames fill what the kernel keeps for a listener.
         (decided.case_number < 1'000'000 ? "" : ",\"note\":\"" + std::string(4'000, 'x') + '"') + "}}";
}

}  // namespace

std::shared_ptr<const House> FakeDesk::make_house() {
  auto house = std::make_shared<House>();
  house->site = "quay-street";
  house->timezone = "UTC";
  house->language = "en";
  house->version = "1";
  return house;
}

base::Result<std::unique_ptr<Teller>> FakeDesk::teller() {
  if (!has_ledger) return base::environment_error("the ledger cannot be read");
  ++tellers;
  return std::unique_ptr<Teller>(std::make_unique<FakeTeller>());
}

void FakeDesk::standing(std::function<void(Standing)> done) {
  if (is_silent) return;
  Standing standing;
  standing.writer.queued = 7;
  std::thread([done = std::move(done), standing] { done(standing); }).detach();
}

void FakeDesk::act(Deed, std::function<void(DeedAnswer)> done) {
  const std::lock_guard lock(mutex_);
  waiting_.push_back(std::move(done));
}

std::vector<std::function<void(DeedAnswer)>> FakeDesk::take_waiting() {
  const std::lock_guard lock(mutex_);
  return std::exchange(waiting_, {});
}

std::span<const Route> test_routes() { return kRoutes; }

Gate::Gate() {
  const std::lock_guard lock(gate_mutex);
  gate_is_shut = true;
}
Gate::~Gate() {
  {
    const std::lock_guard lock(gate_mutex);
    gate_is_shut = false;
  }
  gate_moved.notify_all();
}
int waiting_at_gate() {
  const std::lock_guard lock(gate_mutex);
  return gate_waiting;
}

std::string token_of_role(Role role) { return "gt_" + std::string(text(role)) + std::string(40, 'A'); }

std::vector<KnownToken> one_of_each_role() {
  std::vector<KnownToken> tokens;
  for (const Role role : {Role::kLook, Role::kWork, Role::kAdmin}) {
    tokens.push_back({static_cast<int64_t>(tokens.size() + 1), "of-" + std::string(text(role)), role,
                      base::sha256(token_of_role(role)), false});
  }
  return tokens;
}

ShopTest::ShopTest() : tokens_(one_of_each_role()) {}
ShopTest::~ShopTest() = default;

ServerSettings ShopTest::at(std::string host) {
  ServerSettings settings;
  settings.host = std::move(host);
  return settings;
}

void ShopTest::start(const ServerSettings& settings) {
  Offer offer;
  offer.routes = test_routes();
  offer.files = kFiles;
  offer.tokens = [this](Teller&) -> base::Result<std::vector<KnownToken>> {
    const std::lock_guard lock(mutex_);
    return tokens_;
  };
  offer.line = [](Teller&, const House&, const Happening::Decided& decided) -> base::Result<std::string> {
    if (decided.case_number == 13) return base::input_error("there is no such case");
    if (decided.case_number == 14) throw std::runtime_error("the line's own fault");
    return line_of(decided);
  };
  offer.metrics = [](const House&, const Standing&, const Meters&, Teller&, base::Instant, const ServerState& state) {
    Response response;
    response.content_type = "application/openmetrics-text";
    response.body = std::to_string(state.connections) + ' ' + std::to_string(state.listeners);
    return response;
  };
  offer.ready = [](const House&, const Standing&, Teller&) { return problem(503, "not ready"); };
  offer.live = [] { return Response(); };
  auto server = Server::create(settings, {desk_, meters_, heard_, clock_, log_}, std::move(offer), limits_);
  ASSERT_TRUE(server) << server.error().text;
  server_ = std::move(server).value();
  server_->start();
}

void ShopTest::stop() { server_->stop(); }

std::string ShopTest::last_log() {
  stop();
  return log_.text();
}

void ShopTest::set_tokens(std::vector<KnownToken> tokens) {
  const std::lock_guard lock(mutex_);
  tokens_ = std::move(tokens);
}

std::string ShopTest::request(std::string_view method, std::string_view target, std::string_view fields,
                              std::string_view body) const {
  std::string text = std::string(method) + ' ' + std::string(target) + " HTTP/1.1\r\nHost: " + host() + "\r\n";
  text += fields;
  if (!body.empty()) text += "Content-Length: " + std::to_string(body.size()) + "\r\n";
  return text + "\r\n" + std::string(body);
}

Got ShopTest::ask(std::string_view method, std::string_view target, std::string_view fields,
                  std::string_view body) const {
  Talk talk(server_->port());
  EXPECT_TRUE(talk.send(request(method, target, fields, body)));
  return talk.answer(method == "HEAD").value_or(Got());
}

int ShopTest::connected() const {
  const std::string counts = get("/metrics").body;
  return counts.empty() ? -1 : std::stoi(counts) - 1;
}

bool ShopTest::becomes(const std::function<bool()>& what) const {
  const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(10);
  while (!what()) {
    if (std::chrono::steady_clock::now() > until) return false;
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
  return true;
}

}  // namespace girdle::api
