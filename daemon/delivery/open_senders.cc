#include "delivery/open_senders.h"

#include <boost/asio/io_context.hpp>

#include "delivery/body.h"
#include "delivery/file_names.h"
#include "delivery/folder_sender.h"
#include "delivery/resolver.h"
#include "delivery/webhook_sender.h"

namespace girdle::delivery {
namespace {

std::unique_ptr<Sender> open_folder_sender(const config::Outlet& outlet, const SenderParts& parts,
                                           const config::Report& report) {
  auto body = make_body(outlet, parts.zone, report);
  auto names = FileNames::compile(*outlet.folder, body ? body->extension() : "txt", report);
  if (!body || !names) return nullptr;
  FolderSender::Options options;
  options.clock = &parts.clock;
  return std::make_unique<FolderSender>(parts.executor, outlet.folder->path.string(), parts.site + "/" + outlet.name,
                                        std::move(*names), std::move(body), options, std::make_shared<PosixDropFiles>());
}

}  // namespace

std::vector<std::unique_ptr<Sender>> open_senders(const config::Outlet& outlet, const SenderParts& parts,
                                                  const config::Report& report) {
  if (!outlet.folder) return open_webhook_senders(outlet, parts, report);
  std::vector<std::unique_ptr<Sender>> senders;
  if (auto sender = open_folder_sender(outlet, parts, report)) senders.push_back(std::move(sender));
  return senders;
}

void check_senders(const config::Outlet& outlet, const base::Zone& zone, const config::Report& report) {
  boost::asio::io_context io;
  Resolver resolver(io.get_executor());
  const base::SystemClock clock;
  (void)open_senders(outlet, {io.get_executor(), resolver, clock, base::Log::to_memory(), zone}, report);
}

}  // namespace girdle::delivery
