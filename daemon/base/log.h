// The log: one line an event, `key=value`, through spdlog.
//
// Levels are policy: Error = something is lost or stopped until a person acts; Warning = someone should act; Info = the
// operator did something, or a state changed; Debug = each document, delivery, record. No outsider (a till, a file, an
// instrument) can provoke an Info line at will. Secrets are never passed here.
#pragma once

#include <initializer_list>
#include <memory>
#include <string>
#include <string_view>
#include <type_traits>

namespace spdlog {
class logger;
}

namespace girdle::base {

struct LogField {
  std::string_view key;
  std::string value;

  LogField(std::string_view name, std::string_view text) : key(name), value(text) {}
  LogField(std::string_view name, const std::string& text) : key(name), value(text) {}
  LogField(std::string_view name, const char* text) : key(name), value(text) {}
  template <class T>
    requires std::is_integral_v<T>
  LogField(std::string_view name, T number) : key(name), value(std::to_string(number)) {}
};

// Thread-safe; copies write to the same place.
class Log {
 public:
  using Fields = std::initializer_list<LogField>;

  // To standard error. `level`: error, warning, info or debug.
  static Log to_stderr(std::string_view level);
  // Kept in memory, for tests: see text().
  static Log to_memory();
  static Log to_nowhere();

  void error(std::string_view event, Fields fields = {}) const { write(4, event, fields); }
  void warning(std::string_view event, Fields fields = {}) const { write(3, event, fields); }
  void info(std::string_view event, Fields fields = {}) const { write(2, event, fields); }
  void debug(std::string_view event, Fields fields = {}) const { write(1, event, fields); }

  void set_level(std::string_view level) const;
  // What was written so far; only of to_memory().
  std::string text() const;

 private:
  struct Memory;
  explicit Log(std::shared_ptr<spdlog::logger> logger, std::shared_ptr<Memory> memory = nullptr);
  void write(int level, std::string_view event, Fields fields) const;

  std::shared_ptr<spdlog::logger> logger_;
  std::shared_ptr<Memory> memory_;
};

}  // namespace girdle::base
