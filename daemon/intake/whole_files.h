// Takes in files that are whole: each file is one document. A file whose content changes later is
// another document; one whose content is known, under whatever name, is not read again.
//
// Ready means: closed by its writer or moved in; or standing still for `settle`. An empty file
// always has to stand still. What changes while it is read is given up, and read when it stands
// still.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/digest.h"
#include "intake/done_folder.h"
#include "intake/folder_work.h"

namespace girdle::intake {

class WholeFiles final : public FileTaker {
 public:
  explicit WholeFiles(FolderWork& work) : work_(work), done_(work) {}

  bool has_news(const char* name) override;
  boost::asio::awaitable<void> take(InHand& entry) override;
  void on_event(InHand& entry, Happened happened) override;

 private:
  struct Look {
    FileStatus file;
    std::optional<model::FilePosition> known;
  };

  // Nothing when there is nothing to do about the name.
  std::optional<Look> look(const char* name, bool even_if_same, int& error);
  // True when the name is dealt with, without reading.
  bool waits_or_is_done(InHand& entry, const Look& look, bool complete);
  bool is_ready(InHand& entry, const FileStatus& file, bool complete) const;
  void wait_until_still(InHand& entry, const FileStatus& file);
  void on_change(InHand& entry);
  void on_open_error(InHand& entry, int error);

  boost::asio::awaitable<void> read(InHand& entry, const Look& look);
  boost::asio::awaitable<void> read_small(InHand& entry, const Look& look, int file);
  boost::asio::awaitable<void> read_large(InHand& entry, const Look& look, int file);
  // False when the file could not be read, or was not the same from beginning to end; the name is
  // dealt with then.
  boost::asio::awaitable<bool> digest_large(InHand& entry, const FileStatus& as, int file,
                                            base::Digest& out);
  boost::asio::awaitable<bool> feed_large(InHand& entry, const FileStatus& as, int file,
                                          base::Digest& out);
  bool is_unchanged(const FileStatus& as, int file);

  // True when the content needs no reading: the name is dealt with then.
  boost::asio::awaitable<bool> is_known(InHand& entry, const Look& look,
                                        const base::Digest& digest);
  void begin(InHand& entry, const FileStatus& file, const base::Digest& digest);
  boost::asio::awaitable<void> commit(InHand& entry, const FileStatus& file,
                                      const base::Digest& digest);

  void fly(InHand& entry, const FileStatus& file);
  model::FilePosition position(const InHand& entry, const FileStatus& file,
                               const base::Digest& digest) const;
  Sink::Done done(InHand& entry);
  void on_done(InHand& entry, bool committed);

  FolderWork& work_;
  DoneFolder done_;
  base::Sha256 hash_;
  std::vector<char> buffer_;
  std::optional<Look> scanned_;  // what has_news() saw
};

}  // namespace girdle::intake
