// Where files go that were taken in, when the intake moves them: <folder>/done/. Never replaces
// anything.
//
// On the intake's thread.
#pragma once

#include <string>
#include <string_view>

#include "intake/files.h"

namespace girdle::intake {

struct FolderWork;

class DoneFolder {
 public:
  static constexpr std::string_view kName = "done";

  explicit DoneFolder(FolderWork& work) : work_(work) {}

  // Moves the file when it still is the one that was taken in. Where that fails it stays, which is
  // said once.
  void move_away(const std::string& name, const FileStatus& taken_in);

 private:
  int move_under_free_name(const std::string& name, std::string& moved_to);
  void say_once(const std::string& name, int error);

  FolderWork& work_;
  bool said_ = false;
};

}  // namespace girdle::intake
