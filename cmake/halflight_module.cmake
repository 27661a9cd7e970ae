# A test leaves there what it computed beside published values, for the page of it.
set(HALFLIGHT_VALIDATION_FOLDER "${CMAKE_BINARY_DIR}/validation")
file(MAKE_DIRECTORY "${HALFLIGHT_VALIDATION_FOLDER}")

# halflight_published_test(<name>): the test <name> of the program <name>_test, whose checks with EXPECT_PUBLISHED are rows of
# the validation page.
function(halflight_published_test name)
  add_test(NAME ${name} COMMAND ${name}_test)
  set_tests_properties(${name} PROPERTIES
    ENVIRONMENT "HALFLIGHT_VALIDATION=${HALFLIGHT_VALIDATION_FOLDER}/${name}.tsv"
    FIXTURES_SETUP published TIMEOUT 900)
endfunction()

# halflight_module(<name> SOURCES <files> [TESTS <files>] [SEES <modules>] [LINKS <targets>] [TEST_LINKS <targets>])
#
# One core module: a static library that links exactly the modules it may see, and one test program
# that links only this module, so that an upward call fails to link. tests/layers checks includes too.
# Inside TESTS, HALFLIGHT_SOURCE_DIR is the root of the source tree and "published.hpp" writes docs/validation.md.
# The global property HALFLIGHT_TESTED_MODULES lists the modules with tests.
function(halflight_module name)
  cmake_parse_arguments(ARG "" "" "SOURCES;TESTS;SEES;LINKS;TEST_LINKS" ${ARGN})
  if(ARG_SOURCES)
    add_library(${name} STATIC ${ARG_SOURCES})
    set(scope PUBLIC)
  else()
    add_library(${name} INTERFACE)
    set(scope INTERFACE)
  endif()
  target_link_libraries(${name} ${scope} halflight_flags ${ARG_SEES} ${ARG_LINKS})
  if(ARG_TESTS)
    add_executable(${name}_test ${ARG_TESTS})
    target_link_libraries(${name}_test PRIVATE ${name} ${ARG_TEST_LINKS} GTest::gtest_main)
    target_compile_definitions(${name}_test PRIVATE HALFLIGHT_SOURCE_DIR="${CMAKE_SOURCE_DIR}")
    target_include_directories(${name}_test PRIVATE "${CMAKE_SOURCE_DIR}/tests/support")
    set_property(GLOBAL APPEND PROPERTY HALFLIGHT_TESTED_MODULES ${name})
    halflight_published_test(${name})
  endif()
endfunction()
