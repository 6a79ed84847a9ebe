# HTTP: the guard, who may, the sockets, events.
girdle_test(api_serving
  SOURCES access_test.cc answer_head_test.cc certificate_files.cc fake_shop.cc feed_test.cc guard_test.cc host_names_test.cc
          request_parser_test.cc roll_test.cc route_test.cc server_access_test.cc server_events_test.cc server_test.cc
          server_tls_test.cc slow_client_test.cc smuggling_test.cc talk.cc
  DEPENDS api)
target_precompile_headers(girdle_api_serving_test PRIVATE <boost/asio.hpp> <gmock/gmock.h> <gtest/gtest.h>)

girdle_fuzzer(api_request request_fuzzer.cc CORPUS ${PROJECT_SOURCE_DIR}/tests/corpus/api/request DEPENDS api)
