#include "service/control_actions.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "ledger/delivery_table.h"

namespace girdle::service {
namespace {

using model::DeliveryState;
using testing::HasSubstr;

class ControlActions : public ledger::DeliveryTable {
 protected:
  ControlAnswer done(const ControlRequest& request) {
    auto answer = carry_out(*ledger_, request, base::from_millis(9000));
    EXPECT_TRUE(answer.ok()) << (answer ? "" : answer.error().text);
    return answer ? *answer : ControlAnswer();
  }
  std::string refusal(const ControlRequest& request) { return done(request).refused; }

  static ResendRequest resend_one(ledger::Number delivery) {
    ResendRequest request;
    request.selection.delivery = delivery;
    return request;
  }
};

TEST_F(ControlActions, SendAgainWhatIsSelected) {
  const auto id = add(1);
  mark(id, DeliveryState::kParked);
  const ControlAnswer answer = done(resend_one(id));
  EXPECT_EQ(answer.refused, "");
  EXPECT_EQ(answer.resent.again, 1);
  EXPECT_EQ(told(id), "waiting due 9000");
}

TEST_F(ControlActions, PauseAndResumeAnOutlet) {
  EXPECT_TRUE(done(PauseRequest{"till", "ann: moved"}).changed);
  EXPECT_EQ(ledger_->outlet_paused(till_), "ann: moved");
  EXPECT_EQ(ledger_->outlet_paused(inventory_), "");
  EXPECT_FALSE(done(PauseRequest{"till", "bea: again"}).changed);
  EXPECT_TRUE(done(ResumeRequest{"till"}).changed);
  EXPECT_EQ(ledger_->outlet_paused(till_), "");
  EXPECT_FALSE(done(ResumeRequest{"till"}).changed);
}

TEST_F(ControlActions, OpenAnOutletThatItsReceiverClosed) {
  ASSERT_TRUE(ledger_->close_outlet(till_, "410 Gone").ok());
  EXPECT_TRUE(done(ResumeRequest{"till"}).changed);
  EXPECT_EQ(ledger_->outlet_closed(till_), "");
}

TEST_F(ControlActions, RefuseWhatIsNotThereAndSayWhatIs) {
  EXPECT_EQ(refusal(ResumeRequest{"til"}), "there is no outlet \"til\"; there is till and inventory");
  EXPECT_THAT(refusal(PauseRequest{"", "x"}), HasSubstr("there is no outlet \"\""));
  EXPECT_EQ(refusal(resend_one(99)), "there is no delivery 99");
  ResendRequest nothing;
  EXPECT_EQ(refusal(nothing), "it is not said which deliveries are meant");
  nothing.selection.outlet = "till";
  EXPECT_EQ(refusal(nothing), "it is not said which deliveries are meant") << "an outlet alone only narrows";
  ResendRequest elsewhere;
  elsewhere.selection.parked = true;
  elsewhere.selection.outlet = "tilt";
  EXPECT_THAT(refusal(elsewhere), HasSubstr("there is no outlet \"tilt\""));
}

TEST_F(ControlActions, RefuseAPauseWithoutAReasonThatAPersonCanRead) {
  for (const std::string& why : {std::string(), std::string(" \t"), std::string("two\nlines"), std::string("\x1b[2J"),
                                 std::string("\xff"), std::string(kMostWhyBytes + 1, 'x')}) {
    EXPECT_THAT(refusal(PauseRequest{"till", why}), HasSubstr("a pause needs a reason")) << why;
  }
  EXPECT_EQ(ledger_->outlet_paused(till_), "");
  EXPECT_EQ(refusal(PauseRequest{"till", std::string(kMostWhyBytes, 'x')}), "");
}

TEST_F(ControlActions, AddAndRevokeTokens) {
  EXPECT_TRUE(done(AddTokenRequest{"counter-1", "work", base::sha256("a")}).changed);
  EXPECT_THAT(refusal(AddTokenRequest{"counter-1", "look", base::sha256("b")}),
              HasSubstr("there is a token \"counter-1\" already"));
  EXPECT_EQ(refusal(RevokeTokenRequest{"counter"}), "there is no token \"counter\"; there is counter-1");
  EXPECT_TRUE(done(RevokeTokenRequest{"counter-1"}).changed);
  EXPECT_EQ(refusal(RevokeTokenRequest{"counter-1"}), "the token \"counter-1\" is revoked already");
  EXPECT_TRUE(done(AddTokenRequest{"counter-1", "admin", base::sha256("c")}).changed);
  const auto tokens = ledger_->tokens();
  ASSERT_TRUE(tokens.ok());
  EXPECT_EQ(tokens->back().digest, base::sha256("c"));
  EXPECT_EQ(tokens->back().made_at, base::from_millis(9000));
}

TEST_F(ControlActions, RefuseTokensWithANameOrARoleThatCannotBe) {
  for (const std::string& name : {std::string(), std::string("two words"), std::string("a\n"), std::string("\xc3\xa9"),
                                  std::string(kMostTokenName + 1, 'x')}) {
    EXPECT_THAT(refusal(AddTokenRequest{name, "look", base::sha256("a")}), HasSubstr("1 to 60 visible characters")) << name;
  }
  EXPECT_THAT(refusal(AddTokenRequest{"x", "root", base::sha256("a")}), HasSubstr("there is look, work and admin"));
  EXPECT_TRUE(ledger_->tokens()->empty());
  EXPECT_EQ(refusal(AddTokenRequest{std::string(kMostTokenName, 'x'), "look", base::sha256("a")}), "");
}

TEST_F(ControlActions, HaveATransactionOfTheirOwnWhereNoServiceRuns) {
  const auto id = add(1);
  mark(id, DeliveryState::kParked);
  commit();
  auto answer = carry_out_alone(*ledger_, resend_one(id), base::from_millis(9000));
  ASSERT_TRUE(answer.ok()) << answer.error().text;
  EXPECT_EQ(answer->resent.again, 1);
  auto beside = ledger::Ledger::read(temp_.path());
  ASSERT_TRUE(beside.ok());
  EXPECT_EQ((*(*beside)->delivery(id))->state, DeliveryState::kWaiting);
}

}  // namespace
}  // namespace girdle::service
