girdle_test(api_telling
  SOURCES body_test.cc cause_test.cc list_test.cc query_test.cc routes_test.cc shop.cc telling_test.cc
  DEPENDS api LINKS SQLite::SQLite3 yaml-cpp)
girdle_fuzzer(api_body body_fuzzer.cc CORPUS ${PROJECT_SOURCE_DIR}/tests/corpus/api/body DEPENDS api)

# What other people's libraries say of the document of the API, and of its answers: see tests/npm.
add_executable(girdle_api_samples samples.cc shop.cc)
target_include_directories(girdle_api_samples PRIVATE ${PROJECT_SOURCE_DIR}/tests)
target_link_libraries(girdle_api_samples PRIVATE girdle_api SQLite::SQLite3 GTest::gtest)
find_program(NODE node)
find_program(NPM npm)
if(NODE AND NPM)
  set(npm_folder ${CMAKE_BINARY_DIR}/tests/npm)
  add_test(NAME npm.openapi
    COMMAND ${NODE} ${npm_folder}/node_modules/@redocly/cli/bin/cli.js lint --config ${PROJECT_SOURCE_DIR}/tests/npm/redocly.yaml
            --format stylish ${PROJECT_SOURCE_DIR}/schemas/openapi.yaml)
  set_tests_properties(npm.openapi PROPERTIES FIXTURES_REQUIRED npm TIMEOUT 120 FAIL_REGULAR_EXPRESSION "warning"
    ENVIRONMENT "REDOCLY_SUPPRESS_UPDATE_NOTICE=true;REDOCLY_TELEMETRY=off")
  add_test(NAME npm.openapi_answers
    COMMAND ${NODE} ${npm_folder}/check_openapi.mjs $<TARGET_FILE:girdle_api_samples> ${PROJECT_SOURCE_DIR}/schemas)
  set_tests_properties(npm.openapi_answers PROPERTIES FIXTURES_REQUIRED npm TIMEOUT 120)
else()
  message(WARNING "Without node and npm nobody else's library checks the document of the API")
endif()
