"""Where the packages lie: labor_tables beside the program in its source, inside it when installed."""

from setuptools import find_packages, setup

setup(
    packages=[*find_packages(include=["estimator*"]), "estimator.labor_tables"],
    package_dir={"estimator.labor_tables": "labor_tables"},
)
