#include "base/log.h"

#include <spdlog/logger.h>
#include <spdlog/sinks/null_sink.h>
#include <spdlog/sinks/ostream_sink.h>
#include <spdlog/sinks/stdout_sinks.h>

#include <mutex>
#include <sstream>

#include "base/text.h"

namespace girdle::base {

struct Log::Memory {
  std::ostringstream stream;
};

namespace {

spdlog::level::level_enum level_of(std::string_view name) {
  if (name == "error") return spdlog::level::err;
  if (name == "warning") return spdlog::level::warn;
  if (name == "debug") return spdlog::level::debug;
  return spdlog::level::info;
}

std::shared_ptr<spdlog::logger> make(spdlog::sink_ptr sink, std::string_view level) {
  auto logger = std::make_shared<spdlog::logger>("girdled", std::move(sink));
  logger->set_pattern("%Y-%m-%dT%H:%M:%S.%e%z %l %v");
  logger->set_level(level_of(level));
  logger->flush_on(spdlog::level::debug);
  return logger;
}

// Quoted where a reader of key=value lines would stumble.
void append_value(std::string& out, const std::string& value) {
  if (!value.empty() && value.find_first_of(" \"=\t\r\n\\") == std::string::npos && is_utf8(value)) {
    out += value;
    return;
  }
  out += '"';
  for (const char c : excerpt(value, 2000)) {
    if (c == '"') out += '\\';
    out += c;
  }
  out += '"';
}

}  // namespace

Log::Log(std::shared_ptr<spdlog::logger> logger, std::shared_ptr<Memory> memory)
    : logger_(std::move(logger)), memory_(std::move(memory)) {}

Log Log::to_stderr(std::string_view level) {
  return Log(make(std::make_shared<spdlog::sinks::stderr_sink_mt>(), level));
}

Log Log::to_memory() {
  auto memory = std::make_shared<Memory>();
  auto sink = std::make_shared<spdlog::sinks::ostream_sink_mt>(memory->stream);
  return Log(make(std::move(sink), "debug"), std::move(memory));
}

Log Log::to_nowhere() { return Log(make(std::make_shared<spdlog::sinks::null_sink_mt>(), "error")); }

void Log::set_level(std::string_view level) const { logger_->set_level(level_of(level)); }

std::string Log::text() const { return memory_ ? memory_->stream.str() : std::string(); }

void Log::write(int level, std::string_view event, Fields fields) const {
  static constexpr spdlog::level::level_enum kLevels[] = {spdlog::level::trace, spdlog::level::debug,
                                                          spdlog::level::info, spdlog::level::warn,
                                                          spdlog::level::err};
  if (!logger_->should_log(kLevels[level])) return;
  std::string line(event);
  for (const LogField& field : fields) {
    line += ' ';
    line += field.key;
    line += '=';
    append_value(line, field.value);
  }
  logger_->log(kLevels[level], line);
}

}  // namespace girdle::base
