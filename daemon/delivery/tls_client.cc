#include "delivery/tls_client.h"

#include <openssl/err.h>
#include <openssl/pem.h>
#include <openssl/ssl.h>
#include <openssl/x509v3.h>

#include "delivery/secret_file.h"

namespace girdle::delivery {
namespace {

using boost::system::error_code;
using Clock = std::chrono::steady_clock;

constexpr size_t kMostSessions = 16;
constexpr size_t kLongestKey = 32 << 10;
constexpr auto kShowAgain = std::chrono::hours(1);

// Asio keeps the context's own place for data to itself.
int place_of_client() {
  static const int place = SSL_CTX_get_ex_new_index(0, nullptr, nullptr, nullptr, nullptr);
  return place;
}

// Nobody is there to ask for a password.
int no_password(char*, int, int, void*) { return 0; }

struct FreeBio {
  void operator()(BIO* bio) const { BIO_free(bio); }
};
struct FreeKey {
  void operator()(EVP_PKEY* key) const { EVP_PKEY_free(key); }
};
using Key = std::unique_ptr<EVP_PKEY, FreeKey>;

Key parse_key(std::string_view pem) {
  const std::unique_ptr<BIO, FreeBio> bio(
      BIO_new_mem_buf(pem.data(), static_cast<int>(pem.size())));
  return Key(PEM_read_bio_PrivateKey(bio.get(), nullptr, no_password, nullptr));
}

}  // namespace

void TlsClient::Free::operator()(SSL_SESSION* session) const { SSL_SESSION_free(session); }

TlsClient::TlsClient() : context_(boost::asio::ssl::context::tls_client) {
  SSL_CTX* const tls = context_.native_handle();
  SSL_CTX_set_min_proto_version(tls, TLS1_2_VERSION);
  SSL_CTX_set_mode(tls, SSL_MODE_RELEASE_BUFFERS);
  SSL_CTX_set_verify(tls, SSL_VERIFY_PEER, nullptr);
  SSL_CTX_set_session_cache_mode(tls, SSL_SESS_CACHE_CLIENT | SSL_SESS_CACHE_NO_INTERNAL);
  SSL_CTX_set_ex_data(tls, place_of_client(), this);
  SSL_CTX_sess_set_new_cb(tls, on_session);
}

// A stream that takes its leave keeps the context, and may yet be given a session.
TlsClient::~TlsClient() {
  SSL_CTX_set_ex_data(context_.native_handle(), place_of_client(), nullptr);
}

base::Result<std::unique_ptr<TlsClient>> TlsClient::create(const config::Webhook& webhook) {
  std::unique_ptr<TlsClient> client(new TlsClient());
  if (auto done = client->trust(webhook.ca_file); !done) return std::move(done.error());
  if (webhook.certificate) {
    if (auto done = client->identify(*webhook.certificate); !done) return std::move(done.error());
  }
  ERR_clear_error();  // a later operation would take what is left there for its own
  return client;
}

base::Result<void> TlsClient::trust(const std::filesystem::path& ca_file) {
  error_code error;
  if (ca_file.empty()) {
    context_.set_default_verify_paths(error);
    if (!error) return {};
    return base::environment_error("the system's certificates cannot be read: " + error.message());
  }
  context_.load_verify_file(ca_file.string(), error);
  if (!error) return {};
  return base::input_error(
      ca_file.string() +
      ": holds no certificates in PEM form that can be read: " + error.message());
}

base::Result<void> TlsClient::identify(const config::Webhook::Certificate& certificate) {
  error_code error;
  const std::string file = certificate.certificate_file.string();
  context_.use_certificate_chain_file(file, error);
  if (error) {
    return base::input_error(
        file +
        ": holds no certificate in PEM form that can be read, and those that vouch for it: " +
        error.message());
  }
  const auto pem = read_secret_file(certificate.key, kLongestKey);
  if (!pem) return pem.error();
  const Key key = parse_key(pem->view());
  const std::string key_file = certificate.key.path.string();
  if (!key) {
    return base::input_error(key_file +
                             ": holds no private key in PEM form that is free of a password");
  }
  if (SSL_CTX_use_PrivateKey(context_.native_handle(), key.get()) != 1 ||
      SSL_CTX_check_private_key(context_.native_handle()) != 1) {
    return base::input_error(key_file + ": is the key of another certificate than " + file);
  }
  return {};
}

int TlsClient::on_session(SSL* ssl, SSL_SESSION* session) {
  auto* const self =
      static_cast<TlsClient*>(SSL_CTX_get_ex_data(SSL_get_SSL_CTX(ssl), place_of_client()));
  if (self == nullptr) return 0;
  if (self->sessions_.size() >= kMostSessions) self->sessions_.erase(self->sessions_.begin());
  self->sessions_.emplace_back(session);
  return 1;  // it is ours
}

bool TlsClient::prepare(SSL* ssl, const Url& url) {
  SSL_set_hostflags(ssl, X509_CHECK_FLAG_NO_PARTIAL_WILDCARDS);
  const bool set = url.literal
                       ? X509_VERIFY_PARAM_set1_ip_asc(SSL_get0_param(ssl), url.host.c_str()) == 1
                       : SSL_set1_host(ssl, url.host.c_str()) == 1 &&
                             SSL_set_tlsext_host_name(ssl, url.host.c_str()) == 1;
  if (set) resume(ssl);
  return set;
}

void TlsClient::resume(SSL* ssl) {
  if (Clock::now() - shown_at_ > kShowAgain) sessions_.clear();
  while (!sessions_.empty()) {
    const Session session = std::move(sessions_.back());
    sessions_.pop_back();
    if (SSL_SESSION_is_resumable(session.get()) != 1) continue;
    SSL_set_session(ssl, session.get());
    return;
  }
}

void TlsClient::shook_hands(SSL* ssl) {
  if (SSL_session_reused(ssl) == 0) {
    shown_at_ = Clock::now();
  } else if (SSL_version(ssl) < TLS1_3_VERSION && sessions_.size() < kMostSessions) {
    // A ticket of 1.3 is for one use (RFC 8446 C.4), and others come; a session of 1.2 is for many.
    sessions_.emplace_back(SSL_get1_session(ssl));
  }
}

}  // namespace girdle::delivery
