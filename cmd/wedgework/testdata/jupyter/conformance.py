"""The test suite of the messaging protocol (Debian: python3-jupyter-kernel-test) with a sample for every optional part."""
import unittest

import jupyter_kernel_test


class Wedgework(jupyter_kernel_test.KernelTests):
    kernel_name = "wedgework"
    language_name = "starlark"
    file_extension = ".star"
    code_hello_world = "print('hello, world')"
    code_stderr = "warn('the fixture was not settled')"
    completion_samples = [
        {"text": "retard", "matches": ["retarder"]},
        {"text": "wedge(crystal('YVO4'), ap", "matches": ["apex=", "aperture="]},
        {"text": "crystal('YV", "matches": ["YVO4", "YVO4 infrared"]},
    ]
    complete_code_samples = ["1", "print('hello')", "def f(x):\n    return x\n\n"]
    incomplete_code_samples = ["def f(x):", "print((1", "x = '''a"]
    invalid_code_samples = ["import = 7q", "x = )"]
    code_page_something = "wedge?"
    code_generate_error = "1*nm + 1*deg"
    code_execute_result = [
        {"code": "1+2+3", "result": "6"},
        {"code": "[n*n for n in range(1, 4)]", "result": "[1, 4, 9]"},
        {"code": "1550*nm + 1*nm", "result": "1551 nm"},
    ]
    code_display_data = [
        {"code": "display(crystal('YVO4'))", "mime": "text/html"},
        {"code": "display(1550*nm)", "mime": "text/plain"},
    ]
    code_history_pattern = "1?2*"
    supported_history_operations = ["tail", "range", "search"]
    code_inspect_sample = "wedge"
    code_clear_output = "clear_output()"


if __name__ == "__main__":
    result = unittest.main(exit=False, verbosity=2).result
    print(f"{result.testsRun} run, {len(result.failures) + len(result.errors)} failed, {len(result.skipped)} skipped")
