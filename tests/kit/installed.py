"""girdled and its kit, installed as a person has them."""
import os
import pathlib
import subprocess


def run(*command, cwd=None, env=None, code=0):
    done = subprocess.run(command, cwd=cwd, env=env, capture_output=True, text=True, timeout=300)
    if done.returncode != code:
        raise AssertionError(f"{command} gave {done.returncode}:\n{done.stdout}\n{done.stderr}")
    return done.stdout + done.stderr


def install(cmake, build, folder):
    """Into a folder of its own, and moved from there: nothing may remember where it was made."""
    made, prefix = pathlib.Path(folder, "made"), pathlib.Path(folder, "prefix")
    run(cmake, "--install", build, "--prefix", str(made))
    made.rename(prefix)
    return prefix


def environment(home, **more):
    env = {"PATH": os.environ["PATH"], "HOME": str(home), "LANG": "C.UTF-8", **more}
    if "CCACHE_DIR" in os.environ:
        env["CCACHE_DIR"] = os.environ["CCACHE_DIR"]
    return env
