# /metrics and /health.
girdle_test(api_metrics SOURCES metrics_sample.cc metrics_test.cc openmetrics_test.cc DEPENDS api)

# What somebody else's reader makes of it (Debian: python3-prometheus-client, which only Debian's Python sees).
add_executable(girdle_api_metrics_sample metrics_sample.cc metrics_sample_main.cc)
target_include_directories(girdle_api_metrics_sample PRIVATE ${PROJECT_SOURCE_DIR}/tests)
target_link_libraries(girdle_api_metrics_sample PRIVATE girdle_api)
find_program(GIRDLE_SYSTEM_PYTHON python3 PATHS /usr/bin NO_DEFAULT_PATH)
if(GIRDLE_SYSTEM_PYTHON)
  add_test(NAME api.openmetrics
    COMMAND ${GIRDLE_SYSTEM_PYTHON} ${CMAKE_CURRENT_LIST_DIR}/openmetrics_test.py $<TARGET_FILE:girdle_api_metrics_sample>
            ${PROJECT_SOURCE_DIR}/daemon/api/README.md)
  set_tests_properties(api.openmetrics PROPERTIES TIMEOUT 60)
else()
  message(WARNING "Without the system's Python nobody else's reader checks what /metrics says")
endif()

# For measuring, by hand: see tests/bench/api_bench.py.
add_executable(girdle_api_drive ${PROJECT_SOURCE_DIR}/tests/bench/api_drive.cc)
