// A value, or why there is none.
//
// Errors are named by what the caller does next, and carry a text for a shop's administrator that says where, what,
// and what would be right. Exceptions from libraries end at the edge of the module that calls the library; what
// cannot happen stops the program (std::abort through the standard library's assertions), it is not an Error.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <variant>

namespace girdle::base {

enum class Fault {
  kInput,        // the bytes, the configuration or the state are wrong: tell the person; trying again does not help
  kCall,         // the command was called wrongly
  kEnvironment,  // disk, network, permissions: trying again later may help
};

struct Error {
  Fault fault = Fault::kInput;
  std::string text;
};

inline Error input_error(std::string text) { return {Fault::kInput, std::move(text)}; }
inline Error call_error(std::string text) { return {Fault::kCall, std::move(text)}; }
inline Error environment_error(std::string text) { return {Fault::kEnvironment, std::move(text)}; }

// The text of an errno value, e.g. "No space left on device". Thread-safe.
std::string errno_text(int number);

template <class T>
class [[nodiscard]] Result {
 public:
  Result(T value) : state_(std::in_place_index<0>, std::move(value)) {}
  Result(Error error) : state_(std::in_place_index<1>, std::move(error)) {}

  bool ok() const { return state_.index() == 0; }
  explicit operator bool() const { return ok(); }

  // Only when ok().
  T& value() & { return *std::get_if<0>(&state_); }
  const T& value() const& { return *std::get_if<0>(&state_); }
  T&& value() && { return std::move(*std::get_if<0>(&state_)); }
  T& operator*() & { return value(); }
  const T& operator*() const& { return value(); }
  T&& operator*() && { return std::move(*this).value(); }
  T* operator->() { return &value(); }
  const T* operator->() const { return &value(); }

  // Only when not ok().
  Error& error() & { return *std::get_if<1>(&state_); }
  const Error& error() const& { return *std::get_if<1>(&state_); }
  Error&& error() && { return std::move(*std::get_if<1>(&state_)); }

 private:
  std::variant<T, Error> state_;
};

template <>
class [[nodiscard]] Result<void> {
 public:
  Result() = default;
  Result(Error error) : error_(std::move(error)), ok_(false) {}

  bool ok() const { return ok_; }
  explicit operator bool() const { return ok_; }
  Error& error() { return error_; }
  const Error& error() const { return error_; }

 private:
  Error error_;
  bool ok_ = true;
};

}  // namespace girdle::base
